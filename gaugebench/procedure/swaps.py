"""Swap tests: exchange two things, and see whether the fault follows or stays."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from gaugebench.analyse.verdict import Outcome
from gaugebench.model.job import SwapOutcome, Value
from gaugebench.model.role import Port
from gaugebench.model.saying import Saying
from gaugebench.model.sheet import Check
from gaugebench.model.terms import ChangeKind, Measures
from gaugebench.procedure.judge import verdict_of
from gaugebench.procedure.limiting import Row, Standing
from gaugebench.procedure.rules import load
from gaugebench.procedure.state import JobState


@dataclass(frozen=True, slots=True)
class Swap:
    """An exchange. opens: a line is opened for it. compare: what is read before and after."""

    key: str
    title: str
    opens: bool
    compare: str
    followed: str
    stayed: str
    separates: tuple[str, str]


@dataclass(frozen=True, slots=True)
class Judgement:
    """What an exchange showed, and why."""

    outcome: SwapOutcome
    why: str


def propose(rows: Sequence[Row]) -> Swap | None:
    """The cheapest exchange that separates the first two causes that are not ruled out.

    rows: the fault table. Pairs are tried in its order; None where no exchange separates any.
    """
    alive = [r for r in rows if r.standing in {Standing.SHOWN, Standing.OPEN} and r.evidence_for]
    pairs = [(a, b) for i, a in enumerate(alive) for b in alive[i + 1 :]]
    for entry in load("swaps")["swap"]:
        for a, b in pairs:
            kinds = [r.key.partition(":")[0] for r in (a, b)]
            tells = [k in entry["tells"] for k in kinds]
            between = [k in entry["between"] for k in kinds]
            if (tells[0] and between[1]) or (tells[1] and between[0]):
                return Swap(
                    entry["key"],
                    entry["title"],
                    entry["opens"],
                    entry["compare"],
                    entry["followed"],
                    entry["stayed"],
                    (a.title, b.title),
                )
    return None


def find(key: str) -> Swap | None:
    """An exchange of the data file by its key, outside any proposal."""
    for e in load("swaps")["swap"]:
        if e["key"] == key:
            texts = (e["title"], e["opens"], e["compare"], e["followed"], e["stayed"])
            return Swap(key, *texts, ("", ""))
    return None


def every() -> tuple[Swap, ...]:
    """All exchanges of the data file, cheapest first."""
    found = (find(e["key"]) for e in load("swaps")["swap"])
    return tuple(swap for swap in found if swap is not None)


_PORTS = {"main": Port.MAIN, "control": Port.CONTROL}


def sides(state: JobState, swap: Swap) -> tuple[Check, ...]:
    """The checks of its two sides: what is read before and after, and again once it is put back.

    First one out of its band, else one that was read; for the other pump the one most like it. Of
    times those on a function of the pump's own come first.
    """
    found = [
        (pump.number, check)
        for pump in state.sheet.pump[:2]
        for check in candidates(state, swap, pump.number)
    ]
    if not found:
        return ()
    pump, lead = min(found, key=lambda pair: _rank(state, pair[1], pair[0]))
    others = [(n, c) for n, c in found if n != pump and c.key != lead.key]
    if not others:
        return (lead,)
    other, mate = min(others, key=lambda p: (_unlike(p[1], lead), _rank(state, p[1], p[0])))
    return (lead, mate) if pump < other else (mate, lead)


def candidates(state: JobState, swap: Swap, pump: int) -> tuple[Check, ...]:
    """The checks of a pump that an exchange may be judged by."""
    return tuple(c for c in state.sheet.check if _fits(state, c, swap.compare, pump))


def _fits(state: JobState, check: Check, compare: str, pump: int) -> bool:
    function = state.sheet.find_function(check.function)
    if compare == "time":
        return check.figure is Measures.CYCLE and function is not None and pump in function.pumps
    is_moving = check.figure in {Measures.CYCLE, Measures.DEVIATION}
    return check.role.port is _PORTS[compare] and check.role.pump == pump and not is_moving


def _rank(state: JobState, check: Check, pump: int) -> tuple[bool, bool, bool]:
    function = state.sheet.find_function(check.function)
    latest = state.latest(check.key)
    verdict = verdict_of(state, check, latest) if latest else None
    return (
        function is not None and function.pumps != (pump,),
        verdict is None or verdict.outcome is not Outcome.FAIL,
        latest is None,
    )


def _unlike(check: Check, other: Check) -> int:
    """In how many ways two checks differ."""
    return sum(
        getattr(check, name) is not getattr(other, name)
        for name in ("figure", "stage", "engine", "lever")
    )


def judge(before: tuple[Value, Value], after: tuple[Value, Value]) -> Judgement:
    """Whether the difference between two readings followed the exchange or stayed.

    before, after: of side 1 and side 2, one unit. The difference changes sign where it followed.
    """
    old, new = (a.value - b.value for a, b in (before, after))
    if any(v.expanded is None for v in (*before, *after)):
        return Judgement(SwapOutcome.CANNOT_TELL, "the uncertainty of a reading is not known")
    doubt_old = math.hypot(*(v.expanded or 0.0 for v in before))
    doubt_new = math.hypot(*(v.expanded or 0.0 for v in after))
    if abs(old) <= doubt_old:
        return Judgement(
            SwapOutcome.CANNOT_TELL, "the two did not differ beyond their uncertainty beforehand"
        )
    both = math.hypot(doubt_old, doubt_new)
    is_followed, is_stayed = abs(new + old) <= both, abs(new - old) <= both
    if is_followed and not is_stayed:
        return Judgement(SwapOutcome.FOLLOWED, "the difference changed sides")
    if is_stayed and not is_followed:
        return Judgement(SwapOutcome.STAYED, "the difference stayed where it was")
    if is_followed:
        return Judgement(SwapOutcome.CANNOT_TELL, "the difference is too small for these readings")
    return Judgement(
        SwapOutcome.CANNOT_TELL,
        "the difference neither stayed nor changed sides; something else moved it",
    )


def nag(state: JobState) -> tuple[str, ...]:
    """What is still exchanged, each a sentence; shown until it is put back."""
    return tuple(
        Saying(
            "Still exchanged: {does}. Put it back: {undo}.", does=a.event.does, undo=a.event.undo
        )
        for a in state.open_changes
        if a.event.what is ChangeKind.SWAPPED
    )
