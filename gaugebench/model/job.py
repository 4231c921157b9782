"""The events of a job. Their list, in order, is the whole truth of a worksheet.

Each is frozen and can be written as one line of JSON; replaying the list gives the state back
(`gaugebench.procedure.state`). Values are in the unit used inside the program.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, TypeAdapter

from gaugebench.model.figures import Limiter
from gaugebench.model.terms import ChangeKind, Engine

SCHEMA = 1


class Hands(StrEnum):
    """The two states of the work, switched on purpose and always in sight."""

    IN = "hands in"
    """Engine off, or low idle with the lever lock on: screws, hoses, fittings."""
    UNDER_LOAD = "under load"
    """All clear and confirmed: levers and stalls."""


class Phase(StrEnum):
    """Before or after anything was adjusted."""

    AS_FOUND = "as found"
    AS_LEFT = "as left"


class How(StrEnum):
    """How a reading came to stand where it does."""

    BY_ITSELF = "filled in by itself"
    ACCEPTED = "offered and accepted"
    BY_HAND = "by hand"


class Moment(StrEnum):
    """When a screw's pressure is read again."""

    AFTER_TURN = "after the turn"
    AFTER_LOCK_NUT = "after the lock nut"
    AFTER_LOAD = "after one load cycle"


class SwapOutcome(StrEnum):
    """What an exchange showed."""

    FOLLOWED = "followed"
    STAYED = "stayed"
    CANNOT_TELL = "cannot tell"


class Side(StrEnum):
    """A side of the machine, seen by the operator."""

    LEFT = "left"
    RIGHT = "right"


class Heading(StrEnum):
    """Which way it travels."""

    FORWARD = "forward"
    REVERSE = "reverse"


class Frozen(BaseModel):
    """Base of all that a job is made of. No number is infinite or missing."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Value(Frozen):
    """A number in the unit used inside. expanded: half-width of its k = 2 interval, or None."""

    value: float
    unit: str
    expanded: float | None = Field(default=None, ge=0)


class Conditions(Frozen):
    """The conditions card, stamped on every reading; None and "" where not stated."""

    engine: Engine | None = None
    mode: str = ""
    auto_idle_off: bool | None = None
    boost_off: bool | None = None
    travel_speed: str = ""
    attachment: str = ""
    engine_rpm: float | None = None
    oil_c: float | None = None


class Source(Frozen):
    """Where a reading was taken from: a trace file and the loading in it, counted from 0."""

    trace: str = ""
    loading: int | None = None
    start_s: float | None = None
    end_s: float | None = None


class _Event(Frozen):
    at: AwareDatetime
    """Wall time with its zone."""


class JobOpened(_Event):
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


class HandsSet(_Event):
    """Hands in, or under load with all clear confirmed by a name."""

    kind: Literal["hands"] = "hands"
    hands: Hands
    confirmed_by: str = ""


class ConditionsSet(_Event):
    """A new conditions card; it holds until the next."""

    kind: Literal["conditions"] = "conditions"
    conditions: Conditions


class Ticked(_Event):
    """One entry of a list was done: `list` is `run-in` or `put back`."""

    kind: Literal["ticked"] = "ticked"
    list_name: str
    entry: str


class ReadingTaken(_Event):
    """A check's reading. limiter: what held the pressure, where a loading shows it."""

    kind: Literal["reading"] = "reading"
    check: str
    phase: Phase
    value: Value
    how: How
    conditions: Conditions = Conditions()
    source: Source = Source()
    limiter: Limiter | None = None
    cautions: tuple[str, ...] = ()
    offer: str = ""


class Fit(Frozen):
    """One check that a loading may belong to. misfits: what speaks against it, empty for a fit."""

    check: str
    function: str
    value: Value
    fits: tuple[str, ...] = ()
    misfits: tuple[str, ...] = ()


class OfferMade(_Event):
    """A loading was recognised: the checks it fits, best first, and how sure that is."""

    kind: Literal["offer made"] = "offer made"
    offer: str
    sure: str
    fits: tuple[Fit, ...]
    limiter: Limiter | None = None
    conditions: Conditions = Conditions()
    source: Source = Source()
    cautions: tuple[str, ...] = ()


class OfferDropped(_Event):
    """An offer was not for any check."""

    kind: Literal["offer dropped"] = "offer dropped"
    offer: str
    why: str = ""


class AsFoundLocked(_Event):
    """As-found is complete; from here adjusting may be offered."""

    kind: Literal["as found locked"] = "as found locked"
    signed_by: str = ""


class NotAdjusted(_Event):
    """A check out of its band that is left so on purpose."""

    kind: Literal["not adjusted"] = "not adjusted"
    check: str
    why: str


class NotTested(_Event):
    """A check that was not done."""

    kind: Literal["not tested"] = "not tested"
    check: str
    why: str


class ChangeMade(_Event):
    """Something was altered for a check. read_again: checks to be read once it is put back."""

    kind: Literal["change made"] = "change made"
    change: str
    what: ChangeKind
    does: str
    undo: str
    read_again: tuple[str, ...] = ()


class ChangeRestored(_Event):
    """It was put back."""

    kind: Literal["change restored"] = "change restored"
    change: str


class ScrewTurned(_Event):
    """A screw was turned. turns: in is positive. before: the reading it was turned for."""

    kind: Literal["screw turned"] = "screw turned"
    turn: str
    screw: str
    check: str
    turns: float
    before: Value


class ScrewRead(_Event):
    """The pressure after a turn, at one of the three moments."""

    kind: Literal["screw read"] = "screw read"
    turn: str
    moment: Moment
    value: Value


class SwapJudged(_Event):
    """Two things were exchanged (a `ChangeMade`) and the fault followed or stayed."""

    kind: Literal["swap judged"] = "swap judged"
    change: str
    swap: str
    outcome: SwapOutcome
    why: str


class StallEnded(_Event):
    """Time spent over a relief. power_w: heat while it lasted; oil_c: tank, where known."""

    kind: Literal["stall ended"] = "stall ended"
    function: str
    seconds: float = Field(ge=0)
    power_w: float = Field(ge=0)
    oil_c: float | None = None


class CycleTimed(_Event):
    """One repeat of a cycle time. rpm: the engine's mean speed in it."""

    kind: Literal["cycle timed"] = "cycle timed"
    check: str
    phase: Phase
    seconds: Value
    rpm: float | None = None
    droop_pct: float | None = None
    unloaded: bool = True
    source: Source = Source()
    conditions: Conditions = Conditions()


class TravelWalked(_Event):
    """One walk. deviation_m: how far it left the line; to: the side it went to."""

    kind: Literal["travel walked"] = "travel walked"
    phase: Phase
    heading: Heading
    speed: str
    deviation_m: float = Field(ge=0)
    to: Side
    distance_m: float = Field(gt=0)
    second_lever: bool = False
    """A second function was moved too, which shifts the straight-travel valve."""


class TrackTimed(_Event):
    """A raised track timed over so many turns of its sprocket."""

    kind: Literal["track timed"] = "track timed"
    phase: Phase
    side: Side
    heading: Heading
    speed: str
    turns: float = Field(gt=0)
    seconds: Value


class LoadPoint(_Event):
    """Engine speed under both pumps' pressure, for torque."""

    kind: Literal["load point"] = "load point"
    main_pa: tuple[float, ...]
    rpm: Value
    unloaded_rpm: float
    held_s: float
    moving: bool
    source: Source = Source()


class EngineProved(_Event):
    """Whether the engine alone does what it should, and how that is known."""

    kind: Literal["engine proved"] = "engine proved"
    sound: bool
    how: str


class ZeroChecked(_Event):
    """A transducer's reading with no pressure on it. moment: `before` or `after` the visit."""

    kind: Literal["zero checked"] = "zero checked"
    role: str
    serial: str = ""
    moment: Literal["before", "after"]
    value: Value


class KitUsed(_Event):
    """One transducer of the kit, with what its certificate says."""

    kind: Literal["kit used"] = "kit used"
    role: str
    serial: str = ""
    range_text: str = ""
    accuracy: str = ""
    calibrated_on: str = ""
    fitting: str = ""
    """Adapter, hose bore and length."""


class CautionSeen(_Event):
    """A caution was read and confirmed."""

    kind: Literal["caution seen"] = "caution seen"
    caution: str


class Observed(_Event):
    """Something seen or stated that no transducer tells, for the fault table. fact: its key."""

    kind: Literal["observed"] = "observed"
    fact: str
    holds: bool
    note: str = ""


class TraceAdded(_Event):
    """A trace file that belongs to the job."""

    kind: Literal["trace added"] = "trace added"
    trace: str
    phase: Phase
    note: str = ""


class NoteAdded(_Event):
    """A remark for the report."""

    kind: Literal["note"] = "note"
    text: str


class Signed(_Event):
    """A name under a state of the job: `as found` or `as left`."""

    kind: Literal["signed"] = "signed"
    phase: Phase
    who: str
    capacity: Literal["technician", "customer"]


class JobClosed(_Event):
    """The last event."""

    kind: Literal["job closed"] = "job closed"


JobEvent = Annotated[
    JobOpened
    | HandsSet
    | ConditionsSet
    | Ticked
    | ReadingTaken
    | OfferMade
    | OfferDropped
    | AsFoundLocked
    | NotAdjusted
    | NotTested
    | ChangeMade
    | ChangeRestored
    | ScrewTurned
    | ScrewRead
    | SwapJudged
    | StallEnded
    | CycleTimed
    | TravelWalked
    | TrackTimed
    | LoadPoint
    | EngineProved
    | ZeroChecked
    | KitUsed
    | CautionSeen
    | Observed
    | TraceAdded
    | NoteAdded
    | Signed
    | JobClosed,
    Field(discriminator="kind"),
]
EVENT: TypeAdapter[JobEvent] = TypeAdapter(JobEvent)
"""Reads and writes one event as JSON."""
