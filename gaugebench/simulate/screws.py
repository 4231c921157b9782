"""The screws that a learner can turn, and by how much a turn changes the setting.

A quarter turn on a relief is 40 to 60 bar on some machines; here a whole turn is 120 bar.
"""

from __future__ import annotations

from dataclasses import replace

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


def turn(plant: Plant, screw: str, turns: float) -> Plant:
    """The plant with that screw turned in by so many turns (out: negative).

    Raises `KeyError` where the machine has no such screw.
    """
    kind, _, rest = screw.partition(" ")
    if kind == "port":
        name, _, side = rest.rpartition(" ")
        f = next((f for f in plant.functions if f.name == name), None)
        if f is None or side not in ("a", "b"):
            raise KeyError(f"the machine has no screw “{screw}”")
        key = f"port_{side}"
        return plant.with_function(name, **{key: getattr(f, key) + turns * PORT_PITCH})
    if screw not in SCREWS:
        raise KeyError(f"the machine has no screw “{screw}”")
    change = turns * SCREWS[screw]
    if screw == "pilot relief":
        return replace(plant, pilot=replace(plant.pilot, crack=plant.pilot.crack + change))
    if screw == "torque limit":
        return replace(plant, torque_nm=plant.torque_nm + change)
    first = rest == "1"
    if kind == "relief":
        one, two = plant.reliefs
        if first:
            return replace(plant, reliefs=(replace(one, crack=one.crack + change), two))
        return replace(plant, reliefs=(one, replace(two, crack=two.crack + change)))
    left, right = plant.cutoffs
    if first:
        return replace(plant, cutoffs=(replace(left, start=left.start + change), right))
    return replace(plant, cutoffs=(left, replace(right, start=right.start + change)))
