"""What a turn of a screw does: pressure for one turn, learned from this job's own turns.

The slope is the least-squares line through zero of change against turns, weighted by the readings'
uncertainty; where the turns scatter more than that, its uncertainty is widened by the Birge ratio
(JCGM 100 leaves this to judgement; the ratio is usual in combining inconsistent results). A move
against the direction of the one before it takes up backlash first and does not count; nor does one
that moved nothing beyond its uncertainty, nor the first after such a one, part of which was idle
too. One move alone may hide backlash, so its slope is held to 30 % at best.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from gaugebench.model.band import parse_band
from gaugebench.model.job import Moment
from gaugebench.model.saying import Saying
from gaugebench.model.sheet import Screw
from gaugebench.model.terms import ScrewSense
from gaugebench.procedure.state import JobState, Turn
from gaugebench.quantity import Dimension

_UNKNOWN = 0.05
"""Share of a change taken as its standard uncertainty where a reading states none."""
_ALONE = 0.3
"""The least relative standard uncertainty of a slope that rests on one move."""
_AGREE = 3.0
"""A sheet's slope that is this many standard uncertainties off the learned one is left out."""


@dataclass(frozen=True, slots=True)
class Slope:
    """Pressure for one turn in.

    pa_per_turn: signed, Pa. standard: its standard uncertainty (k = 1). moves: how many turns of
    this job it rests on. words: where it is from, to be shown.
    """

    pa_per_turn: float
    standard: float
    moves: int
    words: str


@dataclass(frozen=True, slots=True)
class _Move:
    turns: float
    change: float
    standard: float


def learn(state: JobState, screw: Screw) -> Slope | None:
    """The slope of a screw from this job's turns and the sheet; None while neither tells one."""
    sign = 1.0 if screw.sense is ScrewSense.RAISES else -1.0
    stated = _stated(screw, sign)
    learned = _fit([m for m in _moves(state, screw.name) if m.change * m.turns * sign > 0])
    if learned is None or stated is None:
        return learned or stated
    apart = abs(learned.pa_per_turn - stated.pa_per_turn)
    if apart > _AGREE * math.hypot(learned.standard, stated.standard):
        return Slope(
            learned.pa_per_turn,
            learned.standard,
            learned.moves,
            Saying(
                "{words}; the sheet's number does not agree and is left out", words=learned.words
            ),
        )
    weights = (learned.standard**-2, stated.standard**-2)
    total = sum(weights)
    value = (weights[0] * learned.pa_per_turn + weights[1] * stated.pa_per_turn) / total
    return Slope(
        value, total**-0.5, learned.moves, Saying("{words} and the sheet", words=learned.words)
    )


def backlash_turns(state: JobState, screw: Screw) -> float | None:
    """Turns taken up by backlash at the latest change of direction; None where none was noticed."""
    slope = learn(state, screw)
    if slope is None:
        return None
    own = _turns(state, screw.name)
    found = None
    for before, after in pairwise(own):
        if before.event.turns * after.event.turns >= 0:
            continue
        move = _move(after)
        if move is None:
            continue
        expected = slope.pa_per_turn * move.turns
        doubt = 2 * math.hypot(move.standard, slope.standard * move.turns)
        moved = move.change * math.copysign(1.0, expected)
        if moved < abs(expected) - doubt:
            found = abs(move.turns) - max(0.0, moved) / abs(slope.pa_per_turn)
    return found


def lock_nut_shift(state: JobState, screw: Screw) -> float | None:
    """By how much tightening the lock nut has moved the pressure, mean over this job, Pa."""
    shifts = [
        t.reads[Moment.AFTER_LOCK_NUT].value - t.after.value
        for t in _turns(state, screw.name)
        if t.after is not None and Moment.AFTER_LOCK_NUT in t.reads
    ]
    return sum(shifts) / len(shifts) if shifts else None


def net_turns(state: JobState, name: str) -> float:
    """All turns of a screw in this job added up; in is positive."""
    return sum(t.event.turns for t in _turns(state, name))


def _turns(state: JobState, name: str) -> list[Turn]:
    return [t for t in state.turns if t.event.screw == name]


def _moves(state: JobState, name: str) -> list[_Move]:
    moves, last, was_idle = [], 0.0, False
    for turn in _turns(state, name):
        move = _move(turn)
        turned_back = turn.event.turns * last < 0
        is_idle = move is not None and abs(move.change) <= 2 * move.standard
        if move is not None and not (turned_back or is_idle or was_idle):
            moves.append(move)
        was_idle = is_idle and not turned_back
        last = turn.event.turns
    return moves


def idle_turns(state: JobState, name: str) -> int:
    """How many of the latest turns in a row moved nothing beyond their uncertainty."""
    count = 0
    for turn in reversed(_turns(state, name)):
        move = _move(turn)
        if move is None or abs(move.change) > 2 * move.standard:
            break
        count += 1
    return count


def _move(turn: Turn) -> _Move | None:
    after = turn.after
    if after is None:
        return None
    change = after.value - turn.event.before.value
    parts = [(v.expanded or 0.0) / 2 for v in (turn.event.before, after)]
    standard = math.hypot(*parts) or abs(change) * _UNKNOWN or 1.0
    return _Move(turn.event.turns, change, standard)


def _fit(moves: list[_Move]) -> Slope | None:
    if not moves:
        return None
    weight = sum((m.turns / m.standard) ** 2 for m in moves)
    slope = sum(m.turns * m.change / m.standard**2 for m in moves) / weight
    standard = weight**-0.5
    if len(moves) > 1:
        scatter = sum(((m.change - slope * m.turns) / m.standard) ** 2 for m in moves)
        standard *= max(1.0, math.sqrt(scatter / (len(moves) - 1)))
    else:
        standard = max(standard, _ALONE * abs(slope))
    words = (
        "learned from one turn"
        if len(moves) == 1
        else Saying("learned from {count} turns", count=len(moves))
    )
    return Slope(slope, standard, len(moves), words)


def _stated(screw: Screw, sign: float) -> Slope | None:
    if screw.per_turn is None:
        return None
    band = parse_band(screw.per_turn, Dimension.PRESSURE)
    if band.aim is None or band.width is None:
        return None
    # The stated tolerance is taken as a k = 2 interval.
    return Slope(sign * band.aim, band.width / 4, 0, "from the sheet")
