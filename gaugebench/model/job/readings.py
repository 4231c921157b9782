"""Events that measure: readings, offers, times, walks, load points, zeros."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from gaugebench.model.figures import Limiter
from gaugebench.model.job.parts import (
    Conditions,
    Dated,
    Frozen,
    Heading,
    How,
    Phase,
    Side,
    Source,
    Value,
)
from gaugebench.model.job.said import Said


class ReadingTaken(Dated):
    """A check's reading. limiter: what held the pressure, where a loading shows it."""

    kind: Literal["reading"] = "reading"
    check: str
    phase: Phase
    value: Value
    how: How
    conditions: Conditions = Conditions()
    source: Source = Source()
    limiter: Limiter | None = None
    cautions: tuple[Said, ...] = ()
    offer: str = ""


class Fit(Frozen):
    """One check that a loading may belong to. misfits: what speaks against it, empty for a fit."""

    check: str
    function: str
    value: Value
    fits: tuple[Said, ...] = ()
    misfits: tuple[Said, ...] = ()


class OfferMade(Dated):
    """A loading was recognised: the checks it fits, best first, and how sure that is."""

    kind: Literal["offer made"] = "offer made"
    offer: str
    sure: Said
    fits: tuple[Fit, ...]
    limiter: Limiter | None = None
    conditions: Conditions = Conditions()
    source: Source = Source()
    cautions: tuple[Said, ...] = ()


class OfferDropped(Dated):
    """An offer was not for any check."""

    kind: Literal["offer dropped"] = "offer dropped"
    offer: str
    why: str = ""


class NotAdjusted(Dated):
    """A check out of its band that is left so on purpose."""

    kind: Literal["not adjusted"] = "not adjusted"
    check: str
    why: str


class NotTested(Dated):
    """A check that was not done."""

    kind: Literal["not tested"] = "not tested"
    check: str
    why: str


class StallEnded(Dated):
    """Time spent over a relief. power_w: heat while it lasted; oil_c: tank, where known."""

    kind: Literal["stall ended"] = "stall ended"
    function: str
    seconds: float = Field(ge=0)
    power_w: float = Field(ge=0)
    oil_c: float | None = None


class CycleTimed(Dated):
    """One repeat of a cycle time. rpm: the engine's mean speed in it.

    merged, regenerated: whether both pumps' oil joined, and whether the cylinder took back its own
    oil; None as the machine does it by itself.
    """

    kind: Literal["cycle timed"] = "cycle timed"
    check: str
    phase: Phase
    seconds: Value
    rpm: float | None = None
    droop_pct: float | None = None
    unloaded: bool = True
    source: Source = Source()
    conditions: Conditions = Conditions()
    merged: bool | None = None
    regenerated: bool | None = None


class TravelWalked(Dated):
    """One walk. deviation_m: how far it left the line; to: the side it went to.

    expanded_m: k = 2, of how that was measured; None where not known.
    """

    kind: Literal["travel walked"] = "travel walked"
    phase: Phase
    heading: Heading
    speed: str
    deviation_m: float = Field(ge=0)
    to: Side
    distance_m: float = Field(gt=0)
    second_lever: bool = False
    """A second function was moved too, which shifts the straight-travel valve."""
    expanded_m: float | None = Field(default=None, ge=0)


class TrackTimed(Dated):
    """A raised track timed over so many turns of its sprocket."""

    kind: Literal["track timed"] = "track timed"
    phase: Phase
    side: Side
    heading: Heading
    speed: str
    turns: float = Field(gt=0)
    seconds: Value


class LoadPoint(Dated):
    """Engine speed under both pumps' pressure, for torque."""

    kind: Literal["load point"] = "load point"
    main_pa: tuple[float, ...]
    rpm: Value
    unloaded_rpm: float
    held_s: float
    moving: bool
    source: Source = Source()


class EngineProved(Dated):
    """Whether the engine alone does what it should, and how that is known."""

    kind: Literal["engine proved"] = "engine proved"
    sound: bool
    how: str


class EntryStruck(Dated):
    """An entry made by mistake counts no more; it stays in the list of events.

    number: its place, from 0, among those of its kind that still count.
    """

    kind: Literal["entry struck"] = "entry struck"
    of: Literal["cycle timed", "travel walked", "track timed", "load point"]
    number: int = Field(ge=0)
    why: str


class ZeroChecked(Dated):
    """A transducer's reading with no pressure on it. moment: `before` or `after` the visit.

    taken_off_pa: the zero that the kit took off then, so that its own is the reading and this.
    """

    kind: Literal["zero checked"] = "zero checked"
    role: str
    serial: str = ""
    moment: Literal["before", "after"]
    value: Value
    taken_off_pa: float = 0.0


class Observed(Dated):
    """Something seen or stated that no transducer tells, for the fault table. fact: its key."""

    kind: Literal["observed"] = "observed"
    fact: str
    holds: bool
    note: str = ""


class TraceAdded(Dated):
    """A trace file that belongs to the job."""

    kind: Literal["trace added"] = "trace added"
    trace: str
    phase: Phase
    note: str = ""
