"""What can be wrong with the machine or the kit, each from mild to severe.

What each does to the figures, and why, is set out in the tests. The sizes are common practice,
no source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

from gaugebench.simulate.moves import FaultOn, Script
from gaugebench.simulate.plant import BAR, Plant, Pump, Relief, Stroking
from gaugebench.simulate.rig import PORTS, Probe, Rigging

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Fault:
    """summary: what a technician would call it. on_plant or on_rig: how it changes either."""

    summary: str
    on_plant: Callable[[Plant, float, str], Plant] | None = None
    on_rig: Callable[[Rigging, float, str], Rigging] | None = None


def with_faults(script: Script) -> tuple[Plant, Rigging]:
    """The machine and the kit with the script's faults in them.

    Raises `KeyError` for an unknown fault, `ValueError` for a severity outside 0 to 1 or a place
    that there is not.
    """
    plant, rigging = script.plant, script.rigging
    for fault in script.faults:
        plant, rigging = _apply(plant, rigging, fault)
    return plant, rigging


def _apply(plant: Plant, rigging: Rigging, chosen: FaultOn) -> tuple[Plant, Rigging]:
    if chosen.name not in FAULTS:
        raise KeyError(f"there is no fault “{chosen.name}”")
    if not 0 <= chosen.severity <= 1:
        raise ValueError(f"the severity of “{chosen.name}” must lie between 0 and 1")
    fault = FAULTS[chosen.name]
    if fault.on_plant:
        plant = fault.on_plant(plant, chosen.severity, chosen.where)
    if fault.on_rig:
        if chosen.where not in PORTS:
            raise ValueError(f"“{chosen.name}” is at one of {', '.join(PORTS)}")
        rigging = fault.on_rig(rigging, chosen.severity, chosen.where)
    return plant, rigging


def _one(pair: tuple[T, T], where: str, change: Callable[[T], T]) -> tuple[T, T]:
    if where not in ("1", "2"):
        raise ValueError(f"a pump is 1 or 2, not “{where}”")
    return (change(pair[0]), pair[1]) if where == "1" else (pair[0], change(pair[1]))


def _worn_pump(plant: Plant, severity: float, where: str) -> Plant:
    def wear(pump: Pump) -> Pump:
        return replace(pump, leak=pump.leak * (1 + 14 * severity))

    return replace(plant, pumps=_one(plant.pumps, where, wear))


def _cut_off(change_pa: float) -> Callable[[Plant, float, str], Plant]:
    def shift(plant: Plant, severity: float, where: str) -> Plant:
        return replace(
            plant,
            cutoffs=_one(
                plant.cutoffs, where, lambda c: replace(c, start=c.start + severity * change_pa)
            ),
        )

    return shift


def _relief_low(plant: Plant, severity: float, where: str) -> Plant:
    def lower(relief: Relief) -> Relief:
        return replace(relief, crack=relief.crack - severity * 90 * BAR)

    return replace(plant, reliefs=_one(plant.reliefs, where, lower))


def _sticking_relief(plant: Plant, severity: float, where: str) -> Plant:
    def stick(relief: Relief) -> Relief:
        return replace(relief, stick=0.12 * severity, lag_s=relief.lag_s * (1 + 4 * severity))

    return replace(plant, reliefs=_one(plant.reliefs, where, stick))


def _port_low(plant: Plant, severity: float, where: str) -> Plant:
    name = {"1": "bucket", "2": "arm"}[where]
    return plant.with_function(name, port_a=(375 - 130 * severity) * BAR)


def _weak_pilot(plant: Plant, severity: float, _where: str) -> Plant:
    # A worn pilot pump delivers less and shows it most at low idle.
    leak = plant.pilot.leak * (1 + 4 * severity)
    lost = plant.pilot.displacement * (1 - 0.45 * severity)
    return replace(plant, pilot=replace(plant.pilot, leak=leak, displacement=lost))


def _orifice_blocked(plant: Plant, severity: float, where: str) -> Plant:
    def block(s: Stroking) -> Stroking:
        return replace(
            s,
            orifice=s.orifice * (1 - 0.45 * severity),
            signal_lag_s=s.signal_lag_s * (1 + 60 * severity),
        )

    return replace(plant, strokings=_one(plant.strokings, where, block))


def _signal_leak(plant: Plant, severity: float, where: str) -> Plant:
    def leak(s: Stroking) -> Stroking:
        return replace(s, signal_share=1 - 0.6 * severity)

    return replace(plant, strokings=_one(plant.strokings, where, leak))


def _engine_weak(plant: Plant, severity: float, _where: str) -> Plant:
    torque = plant.engine.torque_nm * (1 - 0.4 * severity)
    return replace(plant, engine=replace(plant.engine, torque_nm=torque))


def _air(plant: Plant, severity: float, _where: str) -> Plant:
    return replace(plant, oil=replace(plant.oil, air=0.002 + 0.10 * severity))


def _merge_slow(plant: Plant, severity: float, _where: str) -> Plant:
    return replace(plant, merge_lag_s=plant.merge_lag_s + 0.6 * severity)


def _track_drags(plant: Plant, severity: float, where: str) -> Plant:
    name = {"1": "travel right", "2": "travel left"}[where]
    f = next(f for f in plant.functions if f.name == name)
    return plant.with_function(name, friction=f.friction * (1 + 2.0 * severity))


def _torque_low(plant: Plant, severity: float, _where: str) -> Plant:
    return replace(plant, torque_nm=plant.torque_nm * (1 - 0.5 * severity))


def _on_probe(change: Callable[[Probe, float], Probe]) -> Callable[[Rigging, float, str], Rigging]:
    def apply(rigging: Rigging, severity: float, where: str) -> Rigging:
        return replace(
            rigging,
            probes=tuple(change(p, severity) if p.name == where else p for p in rigging.probes),
        )

    return apply


def _swapped(rigging: Rigging, severity: float, where: str) -> Rigging:
    """The hose of this probe and of its fellow on the other pump are swapped."""
    if where == "pilot" or severity < 0.5:
        return rigging
    fellow = where[0] + ("2" if where[1] == "1" else "1")
    swap = {where: fellow, fellow: where}
    return replace(rigging, plugs=tuple(swap.get(p, p) for p in rigging.plugs))


FAULTS = {
    "worn pump": Fault("a pump leaks inside", _worn_pump),
    "cut-off low": Fault("one cut-off is set low", _cut_off(-60 * BAR)),
    "cut-off high": Fault("one cut-off is set above the relief", _cut_off(50 * BAR)),
    "main relief low": Fault("a main relief is set low", _relief_low),
    "sticking relief": Fault("a main relief sticks before it opens", _sticking_relief),
    "port relief low": Fault("a port relief opens before the main relief", _port_low),
    "weak pilot": Fault("the pilot pump is worn", _weak_pilot),
    "orifice blocked": Fault("dirt in a control orifice", _orifice_blocked),
    "signal hose leak": Fault("a control signal hose leaks", _signal_leak),
    "engine weak": Fault("the engine lacks torque", _engine_weak),
    "air in oil": Fault("the oil carries air", _air),
    "merge valve slow": Fault("the merge valve follows late", _merge_slow),
    "track drags": Fault("a brake or bearing of one track drags", _track_drags),
    "torque limit low": Fault("the torque limit is set low", _torque_low),
    "swapped hoses": Fault("two hoses of the kit are swapped", on_rig=_swapped),
    "zero shift": Fault(
        "a transducer reads too high by a constant",
        on_rig=_on_probe(lambda p, s: replace(p, zero_pa=p.zero_pa + 0.02 * s * p.range_pa)),
    ),
    "range error": Fault(
        "a transducer has another range than its label says",
        on_rig=_on_probe(lambda p, s: replace(p, gain=p.gain * (1 - 0.2 * s))),
    ),
    "wire off": Fault(
        "a transducer's wire is off",
        on_rig=_on_probe(lambda p, s: replace(p, is_off=s >= 0.5)),
    ),
    "wire shorted": Fault(
        "a transducer's wire touches its supply",
        on_rig=_on_probe(lambda p, s: replace(p, is_shorted=s >= 0.5)),
    ),
    "loose contact": Fault(
        "a transducer's plug opens now and then",
        on_rig=_on_probe(lambda p, s: replace(p, loose=0.3 * s)),
    ),
}
"""Every fault by its name."""
