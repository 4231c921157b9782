"""What the events of a job are made of."""

from __future__ import annotations

from enum import StrEnum

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from gaugebench.model.terms import Engine


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


class Dated(Frozen):
    """Base of every event."""

    at: AwareDatetime
    """Wall time with its zone."""
