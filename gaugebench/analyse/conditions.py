"""What stands beside a loading's figures: engine, oil temperature, power, heat over the relief.

Each is a figure with its uncertainty or absent with its reason. Power and heat are estimates with
bounds, since the kit measures no flow. Units inside: rpm, °C, W, J, s.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from gaugebench.analyse.budget import NOISE, Budget, held_mean
from gaugebench.analyse.engine import Droop, droop
from gaugebench.analyse.pistons import speed_from_ripple
from gaugebench.analyse.power import ESTIMATE, FULL_STROKE, Share, pump_power
from gaugebench.analyse.uncertainty import Part, combine
from gaugebench.model.figures import (
    Absent,
    Answer,
    Event,
    Figure,
    Limiter,
    LoadingFigures,
    PumpFigures,
    Window,
)
from gaugebench.model.role import Role
from gaugebench.model.saying import Saying
from gaugebench.model.trace import Series, Trace

_SPEED, _TEMPERATURE = Role("engine.speed"), Role("oil.temperature")
PART_STROKE = Share(0.5, 0.05, 1.0)
"""Of a pump that its control has begun to take back: hardly known at all."""


@dataclass(frozen=True, slots=True)
class PumpData:
    """What the sheet says of a pump. displacement: m³ a turn; drive_ratio: turns for one of the
    engine."""

    displacement: float | None = None
    pistons: int | None = None
    drive_ratio: float = 1.0


@dataclass(frozen=True, slots=True)
class PumpConditions:
    """Of one pump in a loading.

    ripple_speed: engine speed read from its ripple, rpm. travel_power: while the actuator moves,
    W. hold_power: while oil goes over the relief, W. relief_heat: put into the oil by then, J.
    """

    ripple_speed: Answer
    travel_power: Answer
    hold_power: Answer
    relief_heat: Answer


@dataclass(frozen=True, slots=True)
class Conditions:
    """Of one loading. speed: mean engine speed over the hold, rpm; temperature: of the oil, °C."""

    speed: Answer
    temperature: Answer
    droop: Droop
    pumps: Mapping[int, PumpConditions]


def conditions(
    trace: Trace, loading: LoadingFigures, pumps: Mapping[int, PumpData] | None = None
) -> Conditions:
    """The conditions of a loading of this trace. pumps: from the sheet, by number."""
    known = pumps or {}
    window = _hold(loading)
    speed = _mean_of(trace.find(_SPEED), window, "engine's speed", "rpm")
    of_pumps: dict[int, PumpConditions] = {}
    for number, pump in loading.pumps.items():
        data = known.get(number, PumpData())
        from_ripple = _ripple_speed(trace.find(Role.main(number)), pump, data)
        best = speed if isinstance(speed, Figure) else from_ripple
        of_pumps[number] = _pump(pump, data, loading, best, from_ripple)
    return Conditions(
        speed=speed,
        temperature=_mean_of(trace.find(_TEMPERATURE), window, "oil's temperature", "°C"),
        droop=_droop(trace.find(_SPEED), loading),
        pumps=of_pumps,
    )


def _hold(loading: LoadingFigures) -> tuple[float, float]:
    """From the first steady part of a hold to the last; the whole loading where there is none."""
    windows = [
        pump.settled.window
        for pump in loading.pumps.values()
        if isinstance(pump.settled, Figure) and pump.settled.window is not None
    ]
    return (
        min((w.start_s for w in windows), default=loading.start_s),
        max((w.end_s for w in windows), default=loading.end_s),
    )


def _mean_of(series: Series | None, span: tuple[float, float], name: str, unit: str) -> Answer:
    if series is None:
        return Absent(Saying("No channel carries the {name}.", name=name))
    part = series.between(*span)
    good = part.values[np.isfinite(part.values)]
    if not len(good):
        return Absent(Saying("The {name} has no samples in the hold.", name=name))
    window = Window(float(part.times[0]), float(part.times[-1]), len(good))
    if len(good) < 2:
        return Figure(float(good[0]), unit, window=window, cautions=("It is one sample.",))
    found = held_mean(good)
    return Budget().plus({NOISE: found.standard}).figure(found.mean, unit, window)


def _droop(series: Series | None, loading: LoadingFigures) -> Droop:
    if series is None:
        gone = Absent("No channel carries the engine's speed.")
        return Droop(gone, gone, gone, gone)
    return droop(series.times, series.values, loading.start_s, loading.end_s)


def _ripple_speed(series: Series | None, pump: PumpFigures, data: PumpData) -> Answer:
    if series is None or isinstance(pump.settled, Absent) or pump.settled.window is None:
        return Absent("No steady part of the hold shows a ripple.")
    part = series.between(pump.settled.window.start_s, pump.settled.window.end_s)
    return speed_from_ripple(part.times, part.values, data.pistons, drive_ratio=data.drive_ratio)


def _pump(
    pump: PumpFigures, data: PumpData, loading: LoadingFigures, speed: Answer, from_ripple: Answer
) -> PumpConditions:
    def power(pressure: Answer, stroke: Share) -> Answer:
        return pump_power(pressure, speed, data.displacement, stroke, drive_ratio=data.drive_ratio)

    travel: Answer = Absent("No actuator travels before the hold.")
    if isinstance(loading.cycle_time, Figure):
        travel = power(pump.initial, FULL_STROKE)
    if pump.limited_by.limiter is not Limiter.RELIEF:
        held_by = pump.limited_by.limiter.value
        gone = Absent(Saying("The hold is not over the relief: {limiter}.", limiter=held_by))
        return PumpConditions(from_ripple, travel, gone, gone)
    stroke = PART_STROKE if isinstance(pump.destroke_onset, Event) else FULL_STROKE
    hold = power(pump.settled, stroke)
    return PumpConditions(from_ripple, travel, hold, _heat(hold, pump, loading))


def _heat(hold: Answer, pump: PumpFigures, loading: LoadingFigures) -> Answer:
    """Power over the relief times how long: from the crack, or else from t50, to the end."""
    if isinstance(hold, Absent):
        return hold
    since = pump.relief_crack.time if isinstance(pump.relief_crack, Event) else pump.t50
    if isinstance(since, Absent):
        return Absent(
            Saying(
                "It is not known since when oil goes over the relief. {reason}",
                reason=since.reason,
            )
        )
    seconds = loading.end_s - since.value
    if seconds <= 0.0:
        return Absent("No oil went over the relief.")
    found = combine(
        {
            "power": Part((hold.expanded or 0.0) / 2, seconds),
            "start": Part((since.expanded or 0.0) / 2, hold.value),
        }
    )
    return replace(
        hold,
        value=hold.value * seconds,
        unit="J",
        expanded=found.expanded,
        parts=found.parts,
        window=Window(since.value, loading.end_s, hold.window.count if hold.window else 0),
        cautions=tuple(dict.fromkeys((ESTIMATE, *hold.cautions))),
    )
