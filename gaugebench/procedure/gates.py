"""What may be done now, and why not where it may not. Every refusal is one plain sentence."""

from __future__ import annotations

from gaugebench.model.job import (
    AsFoundLocked,
    ChangeMade,
    ChangeRestored,
    CycleTimed,
    EntryStruck,
    Hands,
    HandsSet,
    JobClosed,
    JobEvent,
    Moment,
    NotAdjusted,
    NotTested,
    OfferDropped,
    Phase,
    ReadingTaken,
    ScrewRead,
    ScrewTurned,
    Signed,
    SwapJudged,
)
from gaugebench.model.saying import Saying
from gaugebench.model.terms import ChangeKind
from gaugebench.procedure.closing import blocks
from gaugebench.procedure.state import JobState, entries


def refusal(state: JobState, event: JobEvent) -> str | None:
    """Why the event cannot be taken now, or None where it can."""
    if state.closed is not None:
        return "The job is closed; open a new one."
    match event:
        case HandsSet():
            return _hands(event)
        case ReadingTaken():
            return _reading(state, event)
        case OfferDropped() if event.offer not in state.offers:
            return Saying("There is no offer “{offer}” in the queue.", offer=event.offer)
        case AsFoundLocked():
            return _lock(state)
        case NotAdjusted() | NotTested() | CycleTimed() if (
            state.sheet.find_check(event.check) is None
        ):
            return Saying("The sheet has no check called “{check}”.", check=event.check)
        case EntryStruck():
            return _strike(state, event)
        case ChangeMade():
            return _change(state, event)
        case ChangeRestored():
            return _restore(state, event)
        case ScrewTurned():
            return _turn(state, event)
        case ScrewRead():
            return _screw_read(state, event)
        case SwapJudged():
            return _judged(state, event)
        case Signed():
            return _signed(state, event)
        case JobClosed():
            found = blocks(state)
            return found[0] if found else None
        case _:
            return None


def _hands(event: HandsSet) -> str | None:
    if event.hands is Hands.UNDER_LOAD and not event.confirmed_by.strip():
        return "Confirm by name that everybody is clear before the machine is put under load."
    return None


def _reading(state: JobState, event: ReadingTaken) -> str | None:
    check = state.sheet.find_check(event.check)
    if check is None:
        return Saying("The sheet has no check called “{check}”.", check=event.check)
    if event.value.unit != check.dimension.value:
        return Saying(
            "“{title}” is read in {dimension}, not in {unit}.",
            title=check.title,
            dimension=check.dimension.value,
            unit=event.value.unit,
        )
    if event.phase is not state.phase:
        return (
            "As-found is locked; this reading belongs to as-left."
            if state.locked
            else "As-found is not locked yet; this reading belongs to it."
        )
    if event.offer and event.offer not in state.offers:
        return Saying("There is no offer “{offer}” in the queue.", offer=event.offer)
    for altered in state.open_changes:
        change = altered.event
        if event.check in change.read_again and change.change not in check.needs:
            return Saying(
                "“{title}” says nothing while this stands: {does}. Put it back first.",
                title=check.title,
                does=change.does,
            )
    made = {a.event.change for a in state.open_changes}
    for key in check.needs:
        if key not in made:
            needed = state.sheet.find_change(key)
            return Saying(
                "“{title}” first needs this: {does}.",
                title=check.title,
                does=needed.does if needed else key,
            )
    return None


def _lock(state: JobState) -> str | None:
    if state.locked is not None:
        return "As-found is locked already."
    if state.offers:
        return Saying(
            "{count} reading(s) still wait in the queue; accept or drop them first, so "
            "that nothing of as-found is lost.",
            count=len(state.offers),
        )
    if not state.readings:
        return "Nothing was read yet; there is no as-found to lock."
    return None


def _change(state: JobState, event: ChangeMade) -> str | None:
    if state.hands is not Hands.IN:
        return "Switch to hands in before anything is altered."
    if any(a.event.change == event.change for a in state.open_changes):
        return Saying("“{change}” stands already.", change=event.change)
    if not event.read_again:
        return "Say which checks are read again once it is put back."
    unknown = [key for key in event.read_again if state.sheet.find_check(key) is None]
    if unknown:
        return Saying("The sheet has no check called “{check}”.", check=unknown[0])
    if state.locked is None and event.what is not ChangeKind.SWAPPED:
        for key in event.read_again:
            check = state.sheet.find_check(key)
            if check is None or event.change in check.needs:
                continue
            if state.reading(key, Phase.AS_FOUND) is None and key not in state.not_tested:
                return Saying(
                    "Read “{title}” as found first: this would alter it.", title=check.title
                )
    return None


def _restore(state: JobState, event: ChangeRestored) -> str | None:
    if not any(a.event.change == event.change for a in state.open_changes):
        return Saying("“{change}” is not altered now.", change=event.change)
    if state.hands is not Hands.IN:
        return "Switch to hands in before anything is put back."
    return None


def _strike(state: JobState, event: EntryStruck) -> str | None:
    if not event.why.strip():
        return "Say why the entry is struck out; it stays in the job's list."
    if event.number >= len(entries(state, event.of)):
        return "There is no such entry any more."
    return None


def _turn(state: JobState, event: ScrewTurned) -> str | None:
    if state.hands is not Hands.IN:
        return "Switch to hands in before a screw is turned."
    if state.locked is None:
        return "Lock as-found before anything is adjusted."
    screw = state.sheet.find_screw(event.screw)
    if screw is None:
        return Saying("The sheet has no screw called “{screw}”.", screw=event.screw)
    if state.sheet.find_check(event.check) is None:
        return Saying("The sheet has no check called “{check}”.", check=event.check)
    if event.turns == 0:
        return "State how far the screw was turned, and which way."
    if state.turns and state.turns[-1].after is None and state.turns[-1].event.screw == event.screw:
        return "Read the pressure after the last turn first."
    return None


def _screw_read(state: JobState, event: ScrewRead) -> str | None:
    turn = next((t for t in state.turns if t.event.turn == event.turn), None)
    if turn is None:
        return Saying("There is no turn “{turn}”.", turn=event.turn)
    if event.moment is not Moment.AFTER_TURN and turn.after is None:
        return "Read the pressure after the turn before the lock nut is tightened."
    return None


def _judged(state: JobState, event: SwapJudged) -> str | None:
    if not any(
        a.event.change == event.change and a.event.what is ChangeKind.SWAPPED for a in state.altered
    ):
        return Saying("Nothing was exchanged as “{change}”.", change=event.change)
    return None


def _signed(state: JobState, event: Signed) -> str | None:
    if not event.who.strip():
        return "A signature needs a name."
    if event.phase is Phase.AS_LEFT and state.locked is None:
        return "As-found is not locked yet; as-left cannot be signed."
    return None
