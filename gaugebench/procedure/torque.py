"""Torque control: judged with both pumps moving at 50 to 80 % of relief, never at a stall."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from gaugebench.model.job import How, LoadPoint, Phase, ReadingTaken, Value
from gaugebench.model.saying import Saying, fixed
from gaugebench.model.terms import Measures, Stage
from gaugebench.procedure.rules import hint, label
from gaugebench.procedure.state import JobState
from gaugebench.quantity import Dimension, parse

LOW, HIGH = 0.50, 0.80


@dataclass(frozen=True, slots=True)
class Point:
    """One point of the plot: the sum of the mains against engine speed.

    counts: whether it may be judged; why: in words. share: the higher main as a share of relief.
    """

    sum_pa: float
    rpm: float
    drop_rpm: float
    share: float | None
    counts: bool
    why: str


@dataclass(frozen=True, slots=True)
class Torque:
    """What can be said of the torque control. cause: a sentence, never more than was proved."""

    points: tuple[Point, ...]
    worst_drop_rpm: float | None
    limit_rpm: float
    limit_from: str
    cause: str


def points(state: JobState) -> tuple[Point, ...]:
    """The load points of a job, each with whether it counts."""
    return tuple(point(state, p) for p in state.load_points)


def torque(state: JobState) -> Torque:
    """The judgement, the engine proved first."""
    found = points(state)
    good = [p for p in found if p.counts]
    limit, where = _limit(state)
    worst = max((p.drop_rpm for p in good), default=None)
    return Torque(found, worst, limit, where, _cause(state, worst, limit))


def reading(state: JobState, key: str, at: datetime) -> ReadingTaken | None:
    """The reading that the load points make for a check: the greatest drop that counts."""
    counted = [(p, point(state, p)) for p in state.load_points]
    good = [(raw, p) for raw, p in counted if p.counts]
    if not good:
        return None
    raw, worst = max(good, key=lambda pair: pair[1].drop_rpm)
    return ReadingTaken(
        at=at,
        check=key,
        phase=state.phase,
        value=Value(value=worst.drop_rpm, unit=Dimension.SPEED.value, expanded=raw.rpm.expanded),
        how=How.ACCEPTED,
        source=raw.source,
    )


def wanted_pa(state: JobState) -> tuple[float, float] | None:
    """Between which pressures both mains stand for a point to count; None without a relief."""
    relief = _relief_pa(state)
    return None if relief is None else (LOW * relief, HIGH * relief)


def point(state: JobState, load: LoadPoint) -> Point:
    """A load point, and whether it may be judged."""
    relief = _relief_pa(state)
    drop = load.unloaded_rpm - load.rpm.value
    share = max(load.main_pa) / relief if relief else None
    why = ""
    if not load.moving:
        why = "a stall: at a cut-off the pumps take no torque"
    elif len(load.main_pa) < len(state.sheet.pump):
        why = "not every pump was working"
    elif share is None:
        why = "the main relief was not read and the sheet gives no band for it"
    elif not all(LOW <= p / (relief or 1.0) <= HIGH for p in load.main_pa):
        why = "not every pump stood at 50 to 80 % of relief"
    elif load.held_s < float(hint("engine", "recovers_s")):
        why = Saying(
            "held for {held_s} s only; the engine may still recover", held_s=fixed(load.held_s, 1)
        )
    return Point(sum(load.main_pa), load.rpm.value, drop, share, not why, why)


def _relief_pa(state: JobState) -> float | None:
    for check in state.sheet.check:
        if check.stage is Stage.MAIN_RELIEF and check.figure is Measures.RELIEF:
            reading = state.latest(check.key) or state.reading(check.key, Phase.AS_FOUND)
            if reading is not None:
                return reading.value.value
            if check.limits is not None and check.limits.aim is not None:
                return check.limits.aim
    return None


def _limit(state: JobState) -> tuple[float, str]:
    for check in state.sheet.check:
        if check.figure is Measures.DROP and check.limits is not None and check.limits.high:
            return check.limits.high, check.source
    return parse(hint("engine", "lug_rpm"), Dimension.SPEED), label()


def _cause(state: JobState, worst: float | None, limit: float) -> str:
    if worst is None:
        return "Not judged: no load point with both pumps moving at 50 to 80 % of relief."
    if worst <= limit:
        return "The engine carries both pumps."
    if state.engine is None:
        return "The engine is pulled down; prove the engine before the pumps' torque is judged."
    if state.engine.sound:
        return "The engine is pulled down and the engine is proved: the pumps' torque is set high."
    return "The engine is pulled down and the engine is weak; put it right before torque is judged."
