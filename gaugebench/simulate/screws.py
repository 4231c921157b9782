"""The screws that a learner can turn, and by how much a turn changes the setting.

A quarter turn on a relief is 40 to 60 bar on some machines (common practice, no source); here a
whole turn is 120 bar.
"""

from __future__ import annotations

from dataclasses import replace

from gaugebench.quantity import Dimension, parse
from gaugebench.simulate.plant import BAR, Plant

SCREWS = {
    "relief 1": 120 * BAR,
    "relief 2": 120 * BAR,
    "cut-off 1": 80 * BAR,
    "cut-off 2": 80 * BAR,
    "pilot relief": 10 * BAR,
    "torque limit": 120.0,
}
"""Screw → change a turn in, Pa (torque limit: N·m). `port FUNCTION a` and `b` are screws too."""
PORT_PITCH = 120 * BAR


def setting(plant: Plant, screw: str) -> float:
    """Where a screw stands: a crack or start of cut-off, Pa; the torque limit, N·m.

    Raises `KeyError` where the machine has no such screw.
    """
    if screw.startswith("port "):
        name, side = _port(plant, screw)
        return float(getattr(plant.function(name), f"port_{side}"))
    match screw:
        case "relief 1" | "relief 2":
            return plant.reliefs[int(screw[-1]) - 1].crack
        case "cut-off 1" | "cut-off 2":
            return plant.cutoffs[int(screw[-1]) - 1].start
        case "pilot relief":
            return plant.pilot.crack
        case "torque limit":
            return plant.torque_nm
    raise KeyError(f"the machine has no screw “{screw}”")


def put(plant: Plant, screw: str, value: float) -> Plant:
    """The plant with that screw at `value`; see `setting`."""
    setting(plant, screw)
    if screw.startswith("port "):
        name, side = _port(plant, screw)
        return plant.with_function(name, **{f"port_{side}": value})
    if screw == "pilot relief":
        return replace(plant, pilot=replace(plant.pilot, crack=value))
    if screw == "torque limit":
        return replace(plant, torque_nm=value)
    number = int(screw[-1]) - 1
    if screw.startswith("relief"):
        reliefs = [*plant.reliefs]
        reliefs[number] = replace(reliefs[number], crack=value)
        return replace(plant, reliefs=(reliefs[0], reliefs[1]))
    cuts = [*plant.cutoffs]
    cuts[number] = replace(cuts[number], start=value)
    return replace(plant, cutoffs=(cuts[0], cuts[1]))


def turn(plant: Plant, screw: str, turns: float) -> Plant:
    """The plant with that screw turned in by so many turns (out: negative).

    Raises `KeyError` where the machine has no such screw.
    """
    return put(plant, screw, setting(plant, screw) + turns * SCREWS.get(screw, PORT_PITCH))


def set_to(plant: Plant, screw: str, text: str) -> Plant:
    """The same with a setting as one writes it: `330 bar`, or `520 N·m` for the torque limit.

    Raises `KeyError`, `UnitError`.
    """
    if screw == "torque limit":
        number = text.removesuffix("N·m").removesuffix("Nm")
        if number == text:
            raise ValueError(f"“{text}” should be a torque, for example “520 N·m”")
        return put(plant, screw, float(number))
    return put(plant, screw, parse(text, Dimension.PRESSURE))


def _port(plant: Plant, screw: str) -> tuple[str, str]:
    name, _, side = screw.removeprefix("port ").rpartition(" ")
    if side not in ("a", "b") or name not in {f.name for f in plant.functions}:
        raise KeyError(f"the machine has no screw “{screw}”")
    return name, side
