"""The events of a job. Their list, in order, is the whole truth of a worksheet.

Each is frozen and can be written as one line of JSON; replaying the list gives the state back
(`gaugebench.procedure.state`). Values are in the unit used inside the program.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, TypeAdapter

from gaugebench.model.job.parts import (
    Conditions,
    Frozen,
    Hands,
    Heading,
    How,
    Moment,
    Phase,
    Side,
    Source,
    SwapOutcome,
    Value,
)
from gaugebench.model.job.readings import (
    CycleTimed,
    EngineProved,
    EntryStruck,
    Fit,
    LoadPoint,
    NotAdjusted,
    NotTested,
    Observed,
    OfferDropped,
    OfferMade,
    ReadingTaken,
    StallEnded,
    TraceAdded,
    TrackTimed,
    TravelWalked,
    ZeroChecked,
)
from gaugebench.model.job.work import (
    SCHEMA,
    AsFoundLocked,
    CautionSeen,
    ChangeMade,
    ChangeRestored,
    ConditionsSet,
    HandsSet,
    JobClosed,
    JobOpened,
    KitUsed,
    NoteAdded,
    ScrewRead,
    ScrewTurned,
    Signed,
    SwapJudged,
    Ticked,
)

__all__ = [
    "EVENT",
    "SCHEMA",
    "AsFoundLocked",
    "CautionSeen",
    "ChangeMade",
    "ChangeRestored",
    "Conditions",
    "ConditionsSet",
    "CycleTimed",
    "EngineProved",
    "EntryStruck",
    "Fit",
    "Frozen",
    "Hands",
    "HandsSet",
    "Heading",
    "How",
    "JobClosed",
    "JobEvent",
    "JobOpened",
    "KitUsed",
    "LoadPoint",
    "Moment",
    "NotAdjusted",
    "NotTested",
    "NoteAdded",
    "Observed",
    "OfferDropped",
    "OfferMade",
    "Phase",
    "ReadingTaken",
    "ScrewRead",
    "ScrewTurned",
    "Side",
    "Signed",
    "Source",
    "StallEnded",
    "SwapJudged",
    "SwapOutcome",
    "Ticked",
    "TraceAdded",
    "TrackTimed",
    "TravelWalked",
    "Value",
    "ZeroChecked",
]

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
    | EntryStruck
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
