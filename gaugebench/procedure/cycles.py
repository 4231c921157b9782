"""Cycle times: three repeats, their mean and spread, and the same at rated speed where allowed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from gaugebench.analyse.flow import Circumstances, Cylinder, at_rated_speed, from_travel
from gaugebench.analyse.student import coverage_factor
from gaugebench.model.figures import Absent, Answer, Figure
from gaugebench.model.job import CycleTimed, How, Phase, ReadingTaken, Value
from gaugebench.model.sheet import Check, Function
from gaugebench.procedure.state import JobState
from gaugebench.quantity import Dimension, parse

REPEATS = 3


@dataclass(frozen=True, slots=True)
class Cycle:
    """The repeats of one cycle time in one phase.

    mean: s, with the k = 2 interval of the mean. spread_s: longest less shortest. corrected: at
    rated speed, beside the mean and never for it, or why not. flow: mean flow into the cylinder,
    m³/s, or why not. still: repeats that are wanting.
    """

    check: str
    phase: Phase
    count: int
    mean: Value
    spread_s: float
    corrected: Answer
    flow: Answer
    still: int


def cycle(state: JobState, key: str, phase: Phase) -> Cycle | None:
    """The repeats of a check in a phase; None where there is none. Raises `JobError`."""
    check = state.check(key)
    runs = usual(state, check, phase)
    if not runs:
        return None
    mean = mean_of(runs)
    travel = Figure(mean.value, "s", mean.expanded)
    return Cycle(
        check=key,
        phase=phase,
        count=len(runs),
        mean=mean,
        spread_s=max(r.seconds.value for r in runs) - min(r.seconds.value for r in runs),
        corrected=_corrected(state, check, runs, travel),
        flow=flow(state, check, travel),
        still=max(0, REPEATS - len(runs)),
    )


def reading(state: JobState, key: str, at: datetime, how: How = How.BY_HAND) -> ReadingTaken | None:
    """The reading that the repeats make, once there are enough of them."""
    found = cycle(state, key, state.phase)
    if found is None or found.still:
        return None
    last = usual(state, state.check(key), state.phase)[-1]
    return ReadingTaken(
        at=at,
        check=key,
        phase=state.phase,
        value=found.mean,
        how=how,
        conditions=last.conditions,
        source=last.source,
    )


def usual(state: JobState, check: Check, phase: Phase) -> list[CycleTimed]:
    """The repeats of a check as the machine works by itself: merge and regeneration untouched."""
    function = state.sheet.find_function(check.function)
    merged = function is not None and function.merged
    back = function is not None and function.regeneration
    return [
        c
        for c in state.cycles
        if c.check == check.key
        and c.phase is phase
        and c.merged in (None, merged)
        and c.regenerated in (None, back)
    ]


def droop_pct(unloaded_rpm: float, loaded_rpm: float) -> float:
    """How far the engine falls under load, in % of its unloaded speed."""
    return 100 * (unloaded_rpm - loaded_rpm) / unloaded_rpm


def mean_of(runs: Sequence[CycleTimed]) -> Value:
    """The mean of repeats, s, with its k = 2 interval where every repeat has one."""
    values = [r.seconds.value for r in runs]
    n = len(values)
    mean = sum(values) / n
    known = [r.seconds.expanded for r in runs]
    if any(u is None for u in known):
        return Value(value=mean, unit=Dimension.TIME.value)
    # What each timing shares with the others (start and stop seen the same way) is not averaged
    # away; what scatters is, with Student's factor for so few brought to k = 2 (JCGM 100 G.3).
    shared = max(u for u in known if u is not None) / 2
    if n < 2:
        return Value(value=mean, unit=Dimension.TIME.value, expanded=2 * shared)
    scatter = math.sqrt(sum((v - mean) ** 2 for v in values) / (n - 1) / n)
    widened = scatter * coverage_factor(0.9545, n - 1) / 2
    return Value(value=mean, unit=Dimension.TIME.value, expanded=2 * math.hypot(shared, widened))


def _corrected(state: JobState, check: Check, runs: list[CycleTimed], travel: Figure) -> Answer:
    if not check.corrected:
        return Absent("The sheet does not allow this time to be corrected.")
    rated = state.sheet.machine.rated_speed
    speeds = [r.rpm for r in runs if r.rpm is not None]
    droops = [r.droop_pct for r in runs if r.droop_pct is not None]
    if len(speeds) < len(runs):
        return Absent("The engine's speed is not known for every repeat.")
    if len(droops) < len(runs):
        return Absent("The engine's droop is not known for every repeat.")
    return at_rated_speed(
        travel,
        Figure(sum(speeds) / len(speeds), "rpm"),
        None if rated is None else parse(rated, Dimension.SPEED),
        Figure(max(droops), "%"),
        unloaded=all(r.unloaded for r in runs),
    )


def flow(
    state: JobState,
    check: Check,
    travel: Answer,
    merged: bool | None = None,
    regenerated: bool | None = None,
) -> Answer:
    """The mean flow into the check's cylinder, m³/s, or why it cannot be told.

    merged, regenerated: as it was timed; None as the sheet says of the function.
    """
    function = state.sheet.find_function(check.function)
    if function is None:
        return Absent("The sheet does not say which function this is.")
    limited = state.observed.get("torque limited on the way")
    about = Circumstances(
        regeneration=function.regeneration if regenerated is None else regenerated,
        merged=function.merged if merged is None else merged,
        torque_limited=limited.holds if limited else None,
    )
    return from_travel(geometry(function), travel, about)


def geometry(function: Function) -> Cylinder | None:
    """The sizes of a function's cylinders, m, or None where the sheet gives none."""
    c = function.cylinder
    if c is None:
        return None
    bore, rod, stroke = (parse(size, Dimension.LENGTH) for size in (c.bore, c.rod, c.stroke))
    return Cylinder(bore, rod, stroke, c.count, fills_rod_side=c.fills == "rod")
