"""The next turn of a screw: never past the upper limit, never past its travel, from below."""

from __future__ import annotations

import math
from dataclasses import dataclass

from gaugebench.analyse.verdict import Outcome, judge
from gaugebench.model.band import Band
from gaugebench.model.job import Hands, Phase, Value
from gaugebench.model.saying import Saying, fixed, joined
from gaugebench.model.sheet import Check, Screw
from gaugebench.model.terms import ScrewSense
from gaugebench.procedure import slope as learning
from gaugebench.procedure.closing import turns_text
from gaugebench.procedure.rules import hint, hint_pressure, label
from gaugebench.procedure.slope import Slope
from gaugebench.procedure.state import JobState
from gaugebench.quantity import show

_DEGREE = 1 / 360
_COARSE = 5
"""A turn is told in steps of 5°, a smaller one in steps of 1°."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """The next turn. turns: in is positive; 0 where none is proposed, and `text` says why.

    predicted: what the pressure should then be, with its k = 2 interval; None while the slope is
    not known. notes: what belongs to it.
    """

    turns: float
    text: str
    predicted: Value | None = None
    notes: tuple[str, ...] = ()


def propose(state: JobState, screw_name: str, check_key: str, shown_in: str = "bar") -> Proposal:
    """The next turn of a screw for a check. Raises `JobError` where the sheet lacks the check."""
    check = state.check(check_key)
    screw = state.sheet.find_screw(screw_name)
    if screw is None:
        return Proposal(
            0.0, Saying("The sheet has no screw called “{screw_name}”.", screw_name=screw_name)
        )
    if state.locked is None:
        return Proposal(0.0, "Lock as-found before anything is adjusted.")
    if state.hands is not Hands.IN:
        return Proposal(0.0, "Screws are turned hands in only; switch first.")
    band, now = check.limits, _now(state, screw, check)
    if band is None:
        return Proposal(
            0.0,
            Saying("The sheet gives no band for “{title}”; there is no aim.", title=check.title),
        )
    if now is None:
        return Proposal(0.0, Saying("Read “{title}” first.", title=check.title))
    if now.expanded is None:
        return Proposal(0.0, "The reading's uncertainty is not known; read it again with the kit.")
    verdict = judge(now.value, now.expanded, band, state.decision)
    if verdict.outcome is Outcome.PASS:
        return Proposal(0.0, "It is in its band; leave it.")
    if verdict.outcome is Outcome.CANNOT_TELL and not _is_begun(state, screw_name, check_key):
        return Proposal(
            0.0,
            Saying(
                "It cannot be told whether it is out of its band ({reason}): zero the transducer, "
                "hold longer and read it again before a screw is turned.",
                reason=verdict.reason,
            ),
        )
    return _turn(state, screw, band, now, shown_in)


def _turn(state: JobState, screw: Screw, band: Band, now: Value, shown_in: str) -> Proposal:
    shift = learning.lock_nut_shift(state, screw) or 0.0
    aim = _aim(band, now.expanded or 0.0) - shift
    ceiling = (math.inf if band.high is None else band.high) - max(0.0, shift)
    falling = now.value > aim
    notes: list[str] = []
    if falling:
        notes.append("It stands too high: go below first, then come up to it from below.")
        aim -= (band.width or 0.0) / 2
    slope = learning.learn(state, screw)
    if slope is None:
        size = _blind(now, ceiling, falling)
        notes.append("What this screw does is not known yet, so the first turn is small.")
    else:
        size = _known(slope, now, aim, ceiling)
        per = show(abs(slope.pa_per_turn), shown_in, 0)
        notes.append(
            Saying(
                "One turn: {per} ± {standard}, {words}.",
                per=per,
                standard=show(2 * slope.standard, shown_in, 0),
                words=slope.words,
            )
        )
    size = min(size, float(hint("screw", "most_degrees")) / 360)
    idle = learning.idle_turns(state, screw.name)
    if idle:
        notes.append(
            Saying(
                "Turns that moved nothing that could be measured, lately: {count}. That is "
                "backlash, or something else holds the pressure; make sure that this is the screw.",
                count=idle,
            )
        )
    inwards = (screw.sense is ScrewSense.RAISES) != falling
    net = learning.net_turns(state, screw.name)
    left = screw.turns_in - net if inwards else screw.turns_out + net
    if size > left:
        size = max(0.0, left)
        notes.append("That is all the travel it has left on this side.")
    size = _at_the_screw(size)
    if size <= 0:
        return Proposal(0.0, _why_none(left), notes=tuple(notes))
    turns = size if inwards else -size
    return Proposal(
        turns=turns,
        text=Saying("Turn {name} {turns_text}.", name=screw.name, turns_text=turns_text(turns)),
        predicted=_predict(slope, now, turns),
        notes=(*notes, *_more(state, screw, turns, shift, shown_in)),
    )


def _is_begun(state: JobState, screw: str, check: str) -> bool:
    """Whether the screw was turned for the check: what was begun is brought into the band."""
    return any(t.event.screw == screw and t.event.check == check for t in state.turns)


def _now(state: JobState, screw: Screw, check: Check) -> Value | None:
    """The newest reading: of the last turn of the screw for this check, or of the check."""
    turns = [t for t in state.turns if t.event.screw == screw.name and t.event.check == check.key]
    newest = state.latest(check.key)
    if turns and turns[-1].last is not None and not state.read_since(check.key, turns[-1].place):
        return turns[-1].last
    return newest.value if newest else None


def _aim(band: Band, expanded: float) -> float:
    if band.aim is not None:
        return band.aim
    # A one-sided band is cleared by twice the uncertainty, so that a guarded verdict passes.
    return band.low + 2 * expanded if band.low is not None else (band.high or 0.0) - 2 * expanded


def _blind(now: Value, ceiling: float, falling: bool) -> float:
    first = float(hint("screw", "first_step_degrees")) / 360
    if falling or math.isinf(ceiling):
        return first
    # Even the steep end of what is met does not pass the limit.
    room = ceiling - now.value - (now.expanded or 0.0)
    return max(0.0, min(first, room / hint_pressure("screw", "steep")))


def _known(slope: Slope, now: Value, aim: float, ceiling: float) -> float:
    """Turns towards the aim whose prediction plus its U stays at or below the ceiling."""
    steep = abs(slope.pa_per_turn)
    wanted = abs(aim - now.value) / steep
    if aim < now.value:
        return wanted
    low, high = 0.0, wanted
    if _top(slope, now, high) <= ceiling:
        return high
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if _top(slope, now, middle) <= ceiling else (low, middle)
    return low


def _top(slope: Slope, now: Value, size: float) -> float:
    standard = math.hypot((now.expanded or 0.0) / 2, slope.standard * size)
    return now.value + abs(slope.pa_per_turn) * size + 2 * standard


def _predict(slope: Slope | None, now: Value, turns: float) -> Value | None:
    if slope is None:
        return None
    standard = math.hypot((now.expanded or 0.0) / 2, slope.standard * turns)
    value = now.value + slope.pa_per_turn * turns
    return Value(value=value, unit=now.unit, expanded=2 * standard)


def _at_the_screw(size: float) -> float:
    """Rounded down to what can be turned, so that rounding never passes a limit."""
    degrees = size * 360
    step = _COARSE if degrees >= _COARSE else 1
    return step * math.floor(degrees / step + 1e-6) / 360


def _why_none(left: float) -> str:
    if left < _DEGREE:
        return "The screw has no travel left on this side; the fault is not at this screw."
    return (
        "No turn that can be made stays below the upper limit for certain; read it more exactly, "
        "or leave it and say so."
    )


def _more(
    state: JobState, screw: Screw, turns: float, shift: float, shown_in: str
) -> tuple[str, ...]:
    notes: list[str] = []
    last = next((t for t in reversed(state.turns) if t.event.screw == screw.name), None)
    if last is not None and last.event.turns * turns < 0:
        notes.append("This turns back: the first part of it may do nothing (backlash).")
        slack = learning.backlash_turns(state, screw)
        if slack:
            notes.append(
                Saying("About {slack}° of backlash was met before.", slack=fixed(slack * 360))
            )
    if screw.lock_nut and shift:
        notes.append(
            Saying(
                "Read after the turn, after the lock nut, which has moved it by {shift} on this "
                "job, and after one load cycle.",
                shift=show(shift, shown_in),
            )
        )
    elif screw.lock_nut:
        notes.append(
            Saying(
                "Read after the turn, after the lock nut, which moves it 3 to 10 bar ({label}), "
                "and after one load cycle.",
                label=label(),
            )
        )
    else:
        notes.append("Read after the turn and after one load cycle.")
    return tuple(notes)


def relief_warning(state: JobState) -> str | None:
    """That a relief was raised while cycle times did not get shorter; None where not so."""
    raised = [
        t
        for t in state.turns
        if (screw := state.sheet.find_screw(t.event.screw)) is not None
        and screw.raises_relief
        and t.last is not None
        and t.last.value > t.event.before.value
    ]
    if not raised:
        return None
    slower = []
    for key in dict.fromkeys(c.check for c in state.cycles):
        found = [c.seconds for c in state.cycles if c.check == key and c.phase is Phase.AS_FOUND]
        left = [c.seconds for c in state.cycles if c.check == key and c.phase is Phase.AS_LEFT]
        if not found or not left:
            continue
        before = sum(v.value for v in found) / len(found)
        after = sum(v.value for v in left) / len(left)
        doubt = max(v.expanded or 0.0 for v in (*found, *left))
        if before - after <= doubt:
            slower.append(state.check(key).title)
    if not slower:
        return None
    return Saying(
        "A relief was raised and the time did not get shorter: {list}. A relief "
        "does not make a machine faster; look for the flow.",
        list=joined(slower, ", "),
    )
