"""Events of the work itself: opened, states, screws, alterations, signatures, closed."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from gaugebench.model.job.parts import (
    Conditions,
    Dated,
    Hands,
    Moment,
    Phase,
    SwapOutcome,
    Value,
)
from gaugebench.model.job.said import Said
from gaugebench.model.terms import ChangeKind

SCHEMA = 1


class JobOpened(Dated):
    """The first event. sheet: the parsed TOML, so that the job can be read without the file."""

    kind: Literal["job opened"] = "job opened"
    schema_version: int = Field(default=SCHEMA, ge=1, le=SCHEMA)
    job: str
    machine: str = ""
    serial: str = ""
    hour_meter_h: float | None = None
    site: str = ""
    technician: str = ""
    customer: str = ""
    rebuilt: bool = False
    simulated: bool = False
    rule: str = "guarded"
    probability: float = 0.95
    sheet: dict[str, Any]


class HandsSet(Dated):
    """Hands in, or under load with all clear confirmed by a name."""

    kind: Literal["hands"] = "hands"
    hands: Hands
    confirmed_by: str = ""


class ConditionsSet(Dated):
    """A new conditions card; it holds until the next."""

    kind: Literal["conditions"] = "conditions"
    conditions: Conditions


class Ticked(Dated):
    """One entry of a list was done: `list` is `run-in` or `put back`."""

    kind: Literal["ticked"] = "ticked"
    list_name: str
    entry: str


class AsFoundLocked(Dated):
    """As-found is complete; from here adjusting may be offered."""

    kind: Literal["as found locked"] = "as found locked"
    signed_by: str = ""


class ChangeMade(Dated):
    """Something was altered for a check. read_again: checks to be read once it is put back."""

    kind: Literal["change made"] = "change made"
    change: str
    what: ChangeKind
    does: Said
    undo: Said
    read_again: tuple[str, ...] = ()


class ChangeRestored(Dated):
    """It was put back."""

    kind: Literal["change restored"] = "change restored"
    change: str


class ScrewTurned(Dated):
    """A screw was turned. turns: in is positive. before: the reading it was turned for."""

    kind: Literal["screw turned"] = "screw turned"
    turn: str
    screw: str
    check: str
    turns: float
    before: Value


class ScrewRead(Dated):
    """The pressure after a turn, at one of the three moments."""

    kind: Literal["screw read"] = "screw read"
    turn: str
    moment: Moment
    value: Value


class SwapJudged(Dated):
    """Two things were exchanged (a `ChangeMade`) and the fault followed or stayed."""

    kind: Literal["swap judged"] = "swap judged"
    change: str
    swap: str
    outcome: SwapOutcome
    why: Said


class KitUsed(Dated):
    """One transducer of the kit, with what its certificate says."""

    kind: Literal["kit used"] = "kit used"
    role: str
    serial: str = ""
    range_text: Said = ""
    accuracy: Said = ""
    calibrated_on: str = ""
    fitting: str = ""
    """Adapter, hose bore and length."""


class CautionSeen(Dated):
    """A caution was read and confirmed."""

    kind: Literal["caution seen"] = "caution seen"
    caution: str


class NoteAdded(Dated):
    """A remark for the report."""

    kind: Literal["note"] = "note"
    text: str


class Signed(Dated):
    """A name under a state of the job: `as found` or `as left`."""

    kind: Literal["signed"] = "signed"
    phase: Phase
    who: str
    capacity: Literal["technician", "customer"]


class JobClosed(Dated):
    """The last event."""

    kind: Literal["job closed"] = "job closed"
