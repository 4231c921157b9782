"""Swap tests: exchange two things, and see whether the fault follows or stays."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from gaugebench.model.job import SwapOutcome, Value
from gaugebench.model.saying import Saying
from gaugebench.model.terms import ChangeKind
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
