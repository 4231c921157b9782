"""What is altered for a check and must be put back and read again: the sheet's list, and the rest.

A relief or cut-off raised, a port relief, a line or plug exchanged, a boost turned off.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from gaugebench.model.job import ChangeMade
from gaugebench.model.sheet import Sheet
from gaugebench.model.terms import ChangeKind, Measures, Stage
from gaugebench.procedure.state import Altered, JobState

_TOUCHES = {
    ChangeKind.RELIEF_RAISED: (Stage.MAIN_RELIEF, Measures.RELIEF),
    ChangeKind.CUT_OFF_RAISED: (Stage.CUT_OFF, Measures.CUT_OFF),
    ChangeKind.PORT_RELIEF: (Stage.OTHER_RELIEFS, None),
    ChangeKind.BOOST_OFF: (Stage.MAIN_RELIEF, Measures.RELIEF),
}
"""Which checks an alteration moves, by their stage and figure (common practice, no source)."""


class Standing(StrEnum):
    """How an alteration stands."""

    IN_SERVICE = "in service"
    ALTERED = "altered"
    TO_READ = "put back, to be read again"
    DONE = "put back and read again"


@dataclass(frozen=True, slots=True)
class Alteration:
    """One row. event: what makes it, as the sheet has it or as it was made. still: checks that are
    to be read again, by their titles."""

    event: ChangeMade
    standing: Standing
    still: tuple[str, ...] = ()


def alterations(state: JobState) -> tuple[Alteration, ...]:
    """The sheet's alterations in its order, then those that it does not list as they were made."""
    latest = {a.event.change: a for a in state.altered}
    rows = []
    for change in state.sheet.change:
        made = latest.pop(change.key, None)
        event = ChangeMade(
            at=state.opened.at,
            change=change.key,
            what=change.kind,
            does=change.does,
            undo=change.undo,
            read_again=change.read_again,
        )
        rows.append(_row(state, made) if made else Alteration(event, Standing.IN_SERVICE))
    return (*rows, *(_row(state, made) for made in latest.values()))


def _row(state: JobState, made: Altered) -> Alteration:
    if made.restored is None:
        return Alteration(made.event, Standing.ALTERED)
    still = tuple(state.check(key).title for key, a in state.read_again if a == made)
    return Alteration(made.event, Standing.TO_READ if still else Standing.DONE, still)


def suggested(sheet: Sheet, kind: ChangeKind) -> tuple[str, ...]:
    """The keys of the checks that an alteration of that kind commonly moves."""
    touches = _TOUCHES.get(kind)
    if touches is None:
        return ()
    stage, figure = touches
    return tuple(
        c.key for c in sheet.check if c.stage is stage and (figure is None or c.figure is figure)
    )


def free_key(state: JobState, kind: ChangeKind) -> str:
    """A key for an alteration that the sheet does not list."""
    taken = {a.event.change for a in state.altered} | {c.key for c in state.sheet.change}
    number = 1
    while f"{kind.value} {number}" in taken:
        number += 1
    return f"{kind.value} {number}"
