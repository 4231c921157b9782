"""Readings of quiet stretches: pilot, control in neutral, engine speed, oil temperature.

A stretch is quiet where every main pressure stands still at its lowest level. Whether the levers
were in neutral is the technician's to say, so these are offered and never fill themselves in.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from gaugebench.analyse.budget import held_mean, of_reading
from gaugebench.model.arrays import F64, Bools
from gaugebench.model.figures import Absent, Answer, Figure, FigureSet, Window
from gaugebench.model.job import Fit, OfferMade, Source
from gaugebench.model.role import Role
from gaugebench.model.saying import Saying, fixed
from gaugebench.model.sheet import Check, Sheet
from gaugebench.model.terms import Engine, Lever, Measures, Stage
from gaugebench.model.trace import Trace
from gaugebench.procedure.recognise import to_value
from gaugebench.procedure.state import JobState
from gaugebench.quantity import Dimension, Reference

LEAST_S = 1.5
"""A shorter stretch is not offered."""
CALM_PA = 1.5e5
"""Mains that move more than this in half a second, or stand this far above their lowest, are not
at rest."""
CALM_RPM = 15.0
"""An engine that changes by more than this in half a second is not at rest."""
MARGIN_S = 0.8
"""Kept away from every loading."""
SURE = "a quiet stretch; confirm that the levers were in neutral"
_NEAR = 0.12


@dataclass(frozen=True, slots=True)
class Quiet:
    """A quiet stretch, s, and which idle its engine speed is near; None where not known."""

    start_s: float
    end_s: float
    engine: Engine | None


def mean_over(trace: Trace, role: Role, start_s: float, end_s: float) -> Answer:
    """The mean of a role's series over a stretch, with its uncertainty."""
    series = trace.find(role)
    if series is None:
        return Absent(Saying("The trace has no channel for {role}.", role=role))
    if series.channel.reference not in {None, Reference.GAUGE}:
        return Absent(Saying("{role} is not gauge pressure.", role=role))
    part = series.between(start_s, end_s)
    count = int(np.count_nonzero(np.isfinite(part.values)))
    if count < 2:
        return Absent(Saying("{role} has fewer than two samples there.", role=role))
    found = held_mean(part.values)
    budget = of_reading(series.channel).plus({"noise of the mean": found.standard})
    unit = series.channel.dimension.value
    return budget.figure(found.mean, unit, Window(start_s, end_s, count))


def quiet(trace: Trace, figures: FigureSet, sheet: Sheet) -> tuple[Quiet, ...]:
    """The quiet stretches of a trace, in order of time."""
    first = trace.find(Role.main(trace.pumps[0])) if trace.pumps else None
    if first is None or len(first) < 4:
        return ()
    times = first.times
    calm = np.ones(len(times), dtype=np.bool_)
    width = max(2, round(0.5 / first.interval_s))
    for pump in trace.pumps:
        series = trace.find(Role.main(pump))
        if series is None or not np.isfinite(series.values).any():
            return ()
        values = np.interp(times, series.times, series.values)
        calm &= np.isfinite(values) & _still(values, width)
    speed = trace.find(Role.parse("engine.speed"))
    if speed is not None and len(speed) > 1:
        rpm = np.interp(times, speed.times, speed.values)
        calm &= np.isfinite(rpm) & _level(rpm, width)
    for loading in figures.loadings:
        calm &= (times < loading.start_s - MARGIN_S) | (times > loading.end_s + MARGIN_S)
    return tuple(
        Quiet(start, end, _engine(trace, sheet, start, end))
        for start, end in _runs(times, calm)
        if end - start >= LEAST_S
    )


def offers(
    state: JobState, trace: Trace, name: str, figures: FigureSet, at: datetime
) -> tuple[OfferMade, ...]:
    """An offer for each steady check in neutral that a quiet stretch at its idle gives."""
    stretches = quiet(trace, figures, state.sheet)
    has_speed = trace.find(Role.parse("engine.speed")) is not None
    made = []
    for check in state.sheet.check:
        if check.figure is not Measures.STEADY or check.lever is not Lever.NEUTRAL:
            continue
        # An engine speed that is measured and near neither idle is no idle.
        either = {check.engine} if has_speed else {check.engine, None}
        fitting = [q for q in stretches if q.engine in either]
        if not fitting:
            continue
        longest = max(fitting, key=lambda q: q.end_s - q.start_s)
        answer = mean_over(trace, check.role, longest.start_s, longest.end_s)
        if isinstance(answer, Figure):
            made.append(_offer(state, check, answer, longest, name, at))
    return tuple(made)


def _offer(
    state: JobState, check: Check, figure: Figure, stretch: Quiet, name: str, at: datetime
) -> OfferMade:
    idle = (
        Saying("engine at {engine}", engine=stretch.engine)
        if stretch.engine
        else "engine speed not known"
    )
    length = Saying(
        "{start_s} s without movement", start_s=fixed(stretch.end_s - stretch.start_s, 1)
    )
    misfits = () if stretch.engine is check.engine else ("which idle it was is not known",)
    fit = Fit(
        check=check.key,
        function="",
        value=to_value(figure, check.dimension),
        fits=(idle, length),
        misfits=misfits,
    )
    return OfferMade(
        at=at,
        offer=f"{name}#quiet.{check.key}",
        sure=SURE,
        fits=(fit,),
        conditions=state.conditions,
        source=Source(trace=name, start_s=stretch.start_s, end_s=stretch.end_s),
        cautions=figure.cautions,
    )


def _still(values: F64, width: int) -> Bools:
    """Where a pressure stands still at its lowest level; `width` in samples."""
    kernel = np.ones(width) / width
    smooth = np.convolve(values, kernel, mode="same")
    smooth[:width], smooth[-width:] = smooth[width], smooth[-width - 1]
    lowest = float(np.quantile(smooth, 0.02))
    slope = np.abs(np.gradient(smooth)) * width
    calm: Bools = (slope < CALM_PA) & (np.abs(smooth - lowest) < CALM_PA)
    return calm


def _level(rpm: F64, width: int) -> Bools:
    """Where an engine speed stands still; `width` in samples."""
    kernel = np.ones(width) / width
    smooth = np.convolve(rpm, kernel, mode="same")
    smooth[:width], smooth[-width:] = smooth[width], smooth[-width - 1]
    still: Bools = np.abs(np.gradient(smooth)) * width < CALM_RPM
    return still


def _runs(times: F64, calm: Bools) -> list[tuple[float, float]]:
    edges = np.flatnonzero(np.diff(np.concatenate(([0], calm.astype(np.int8), [0]))))
    return [
        (float(times[a]), float(times[b - 1])) for a, b in zip(edges[::2], edges[1::2], strict=True)
    ]


def _engine(trace: Trace, sheet: Sheet, start_s: float, end_s: float) -> Engine | None:
    speed = mean_over(trace, Role.parse("engine.speed"), start_s, end_s)
    if isinstance(speed, Absent):
        return None
    for check in sheet.check:
        band = check.limits
        if check.stage is not Stage.ENGINE or check.dimension is not Dimension.SPEED or not band:
            continue
        aim = band.aim or band.low or band.high
        if aim and abs(speed.value - aim) <= _NEAR * aim:
            return check.engine
    return None
