"""The state of a job: what its events add up to. Pure; replaying the events gives it back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from gaugebench.analyse.verdict import Decision, Rule
from gaugebench.errors import JobError
from gaugebench.model.job import (
    AsFoundLocked,
    CautionSeen,
    ChangeMade,
    ChangeRestored,
    Conditions,
    ConditionsSet,
    CycleTimed,
    EngineProved,
    EntryStruck,
    Hands,
    HandsSet,
    JobClosed,
    JobEvent,
    JobOpened,
    KitUsed,
    LoadPoint,
    Moment,
    NotAdjusted,
    NoteAdded,
    NotTested,
    Observed,
    OfferDropped,
    OfferMade,
    Phase,
    ReadingTaken,
    ScrewRead,
    ScrewTurned,
    Signed,
    StallEnded,
    SwapJudged,
    Ticked,
    TraceAdded,
    TrackTimed,
    TravelWalked,
    Value,
    ZeroChecked,
)
from gaugebench.model.saying import Saying
from gaugebench.model.sheet import Check, Sheet
from gaugebench.procedure.sheet import parse


@dataclass(frozen=True, slots=True)
class Altered:
    """A temporary change. made, restored: the places of the two events in the job."""

    event: ChangeMade
    made: int
    restored: int | None = None


@dataclass(frozen=True, slots=True)
class Turn:
    """One turn of a screw and the readings after it. place: of its event in the job."""

    event: ScrewTurned
    place: int
    reads: Mapping[Moment, Value] = field(default_factory=dict)

    @property
    def after(self) -> Value | None:
        """The reading after the turn itself, the lock nut not yet tightened."""
        return self.reads.get(Moment.AFTER_TURN)

    @property
    def last(self) -> Value | None:
        """The latest reading of this turn."""
        found = [self.reads[m] for m in Moment if m in self.reads]
        return found[-1] if found else None


@dataclass(frozen=True, slots=True)
class JobState:
    """All that is known of a job after its events so far. Each part keeps the order of events."""

    opened: JobOpened
    sheet: Sheet
    count: int = 1
    last_at: datetime | None = None
    hands: Hands = Hands.IN
    hands_log: tuple[HandsSet, ...] = ()
    conditions: Conditions = field(default_factory=Conditions)
    ticked: frozenset[tuple[str, str]] = frozenset()
    readings: tuple[tuple[int, ReadingTaken], ...] = ()
    offers: Mapping[str, OfferMade] = field(default_factory=dict)
    dropped: tuple[OfferDropped, ...] = ()
    locked: AsFoundLocked | None = None
    not_adjusted: Mapping[str, str] = field(default_factory=dict)
    not_tested: Mapping[str, str] = field(default_factory=dict)
    altered: tuple[Altered, ...] = ()
    turns: tuple[Turn, ...] = ()
    swaps: tuple[SwapJudged, ...] = ()
    stalls: tuple[StallEnded, ...] = ()
    cycles: tuple[CycleTimed, ...] = ()
    walks: tuple[TravelWalked, ...] = ()
    tracks: tuple[TrackTimed, ...] = ()
    load_points: tuple[LoadPoint, ...] = ()
    engine: EngineProved | None = None
    zeros: tuple[ZeroChecked, ...] = ()
    kit: tuple[KitUsed, ...] = ()
    cautions_seen: tuple[CautionSeen, ...] = ()
    observed: Mapping[str, Observed] = field(default_factory=dict)
    traces: tuple[TraceAdded, ...] = ()
    notes: tuple[NoteAdded, ...] = ()
    signatures: tuple[Signed, ...] = ()
    closed: JobClosed | None = None

    @property
    def phase(self) -> Phase:
        """As found until it is locked, as left from then on."""
        return Phase.AS_LEFT if self.locked else Phase.AS_FOUND

    @property
    def decision(self) -> Decision:
        """The rule that verdicts are given by."""
        return Decision(Rule(self.opened.rule), self.opened.probability)

    def check(self, key: str) -> Check:
        """The sheet's check of that key. Raises `JobError` where there is none."""
        found = self.sheet.find_check(key)
        if found is None:
            raise JobError(Saying("The sheet has no check called “{key}”.", key=key))
        return found

    def reading(self, check: str, phase: Phase) -> ReadingTaken | None:
        """The latest reading of a check in a phase."""
        found = [r for _, r in self.readings if r.check == check and r.phase is phase]
        return found[-1] if found else None

    def latest(self, check: str) -> ReadingTaken | None:
        """The latest reading of a check in either phase."""
        found = [r for _, r in self.readings if r.check == check]
        return found[-1] if found else None

    def read_since(self, check: str, place: int) -> bool:
        """Whether the check was read after the event at that place."""
        return any(r.check == check and n > place for n, r in self.readings)

    @property
    def open_changes(self) -> tuple[Altered, ...]:
        """The temporary changes that were not put back."""
        return tuple(a for a in self.altered if a.restored is None)

    @property
    def read_again(self) -> tuple[tuple[str, Altered], ...]:
        """Checks still to be read after a change was put back, with that change."""
        return tuple(
            (check, a)
            for a in self.altered
            if a.restored is not None
            for check in a.event.read_again
            if not self.read_since(check, a.restored)
        )


def replay(events: Iterable[JobEvent]) -> JobState:
    """The state after the events. Raises `JobError` where the first does not open a job."""
    state: JobState | None = None
    for event in events:
        state = begin(event) if state is None else evolve(state, event)
    if state is None:
        raise JobError("The job has no events.")
    return state


def begin(event: JobEvent) -> JobState:
    """The state after the opening event. Raises `JobError`, `SheetError`."""
    if not isinstance(event, JobOpened):
        raise JobError("A job begins with the event that opens it.")
    return JobState(opened=event, sheet=parse(event.sheet), last_at=event.at)


def evolve(state: JobState, event: JobEvent) -> JobState:
    """The state after one more event. Refuses nothing: see `gates`."""
    place = state.count
    state = replace(state, count=place + 1, last_at=event.at)
    match event:
        case JobOpened():
            return state
        case HandsSet():
            return replace(state, hands=event.hands, hands_log=(*state.hands_log, event))
        case ConditionsSet():
            return replace(state, conditions=event.conditions)
        case Ticked():
            return replace(state, ticked=state.ticked | {(event.list_name, event.entry)})
        case ReadingTaken():
            return replace(
                state,
                readings=(*state.readings, (place, event)),
                offers={k: o for k, o in state.offers.items() if k != event.offer},
                not_tested={k: w for k, w in state.not_tested.items() if k != event.check},
            )
        case OfferMade():
            return replace(state, offers={**state.offers, event.offer: event})
        case OfferDropped():
            kept = {k: o for k, o in state.offers.items() if k != event.offer}
            return replace(state, offers=kept, dropped=(*state.dropped, event))
        case AsFoundLocked():
            return replace(state, locked=event)
        case NotAdjusted():
            return replace(state, not_adjusted={**state.not_adjusted, event.check: event.why})
        case NotTested():
            return replace(state, not_tested={**state.not_tested, event.check: event.why})
        case ChangeMade():
            return replace(state, altered=(*state.altered, Altered(event, place)))
        case ChangeRestored():
            return replace(
                state,
                altered=tuple(
                    replace(a, restored=place)
                    if a.event.change == event.change and a.restored is None
                    else a
                    for a in state.altered
                ),
            )
        case ScrewTurned():
            return replace(state, turns=(*state.turns, Turn(event, place)))
        case ScrewRead():
            return replace(
                state,
                turns=tuple(
                    replace(t, reads={**t.reads, event.moment: event.value})
                    if t.event.turn == event.turn
                    else t
                    for t in state.turns
                ),
            )
        case SwapJudged():
            return replace(state, swaps=(*state.swaps, event))
        case StallEnded():
            return replace(state, stalls=(*state.stalls, event))
        case CycleTimed():
            return replace(state, cycles=(*state.cycles, event))
        case TravelWalked():
            return replace(state, walks=(*state.walks, event))
        case TrackTimed():
            return replace(state, tracks=(*state.tracks, event))
        case LoadPoint():
            return replace(state, load_points=(*state.load_points, event))
        case EngineProved():
            return replace(state, engine=event)
        case EntryStruck():
            return _struck(state, event)
        case ZeroChecked():
            return replace(state, zeros=(*state.zeros, event))
        case KitUsed():
            return replace(state, kit=(*state.kit, event))
        case CautionSeen():
            return replace(state, cautions_seen=(*state.cautions_seen, event))
        case Observed():
            return replace(state, observed={**state.observed, event.fact: event})
        case TraceAdded():
            return replace(state, traces=(*state.traces, event))
        case NoteAdded():
            return replace(state, notes=(*state.notes, event))
        case Signed():
            return replace(state, signatures=(*state.signatures, event))
        case JobClosed():
            return replace(state, closed=event)


_KEPT_IN = {
    "cycle timed": "cycles",
    "travel walked": "walks",
    "track timed": "tracks",
    "load point": "load_points",
}
"""Kinds of entries that can be struck, and where the state keeps them."""


def entries(state: JobState, kind: str) -> tuple[JobEvent, ...]:
    """The entries of a kind that still count, in order; for kinds that can be struck."""
    found: tuple[JobEvent, ...] = getattr(state, _KEPT_IN[kind])
    return found


def _struck(state: JobState, event: EntryStruck) -> JobState:
    kept = entries(state, event.of)
    left = (*kept[: event.number], *kept[event.number + 1 :])
    changed: dict[str, Any] = {_KEPT_IN[event.of]: left}
    return replace(state, **changed)
