"""The turn log, and what would undo everything that was altered."""

from __future__ import annotations

from gaugebench.model.job import Moment, Value
from gaugebench.model.saying import Saying, Written
from gaugebench.procedure.closing import put_back, turns_text
from gaugebench.procedure.state import JobState
from gaugebench.procedure.words import number, shown_unit
from gaugebench.report.blocks import Block, Heading, Table, Text, row
from gaugebench.report.looks import time_of_day


def screws(state: JobState, pressure: str) -> list[Block]:
    """The turn log and what would undo everything."""
    found: list[Block] = [Heading(Saying("Screws turned"))]
    if not state.turns:
        return [*found, Text(Saying("No screw was turned.")), *_altered(state)]
    rows = []
    for turn in state.turns:
        check = state.check(turn.event.check)
        there = shown_unit(check, pressure)
        reads: list[Value | None] = [turn.event.before, *(turn.reads.get(m) for m in Moment)]
        rows.append(
            row(
                time_of_day(turn.event.at),
                Written(turn.event.screw),
                turns_text(turn.event.turns),
                *(number(v, there) if v else "–" for v in reads),
            )
        )
    head = (
        Saying("At"),
        Saying("Screw"),
        Saying("Turned"),
        Saying("Before"),
        *(_MOMENTS[m] for m in Moment),
    )
    found.append(Table(Saying("Screws"), head, tuple(rows), (7, 16, 20, 15, 15, 15, 15)))
    return [*found, *_altered(state)]


_MOMENTS = {
    Moment.AFTER_TURN: Saying("After the turn"),
    Moment.AFTER_LOCK_NUT: Saying("After the lock nut"),
    Moment.AFTER_LOAD: Saying("After one load cycle"),
}


def _altered(state: JobState) -> list[Block]:
    now = {True: Saying("put back"), False: Saying("stands")}
    rows = tuple(row(p.what, p.how, now[p.done]) for p in put_back(state))
    if not rows:
        return []
    head = (Saying("What was changed"), Saying("What undoes it"), Saying("Now"))
    table = Table(Saying("Put back"), head, rows, (40, 45, 15))
    return [Heading(Saying("To put it all back"), 3), table]
