"""Following the work: every loading and quiet stretch of a trace becomes an offer in the queue.

Nothing need be touched for it, and nothing of as-found is lost: an offer is on disk at once, and
waits until it is accepted or dropped.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from gaugebench.errors import JobError
from gaugebench.model.figures import FigureSet
from gaugebench.model.job import How, OfferDropped, OfferMade, Source
from gaugebench.model.trace import Trace
from gaugebench.procedure import recognise, steady
from gaugebench.procedure.prompt import next_check
from gaugebench.procedure.worksheet import Worksheet


@dataclass(frozen=True, slots=True)
class Followed:
    """What came of a trace. filled: checks that filled themselves in; queued: names of offers."""

    filled: tuple[str, ...]
    queued: tuple[str, ...]


def follow(
    sheet: Worksheet,
    figures: FigureSet,
    name: str,
    at: datetime,
    trace: Trace | None = None,
    asked: Sequence[str] | None = None,
) -> Followed:
    """Offer all that a trace shows; take by itself only what one check fits that was asked for.

    name: of the trace in the job. asked: for each loading, the check that was asked for ("" for
    none); by default the next in order. trace: for quiet stretches, where it is at hand.
    """
    filled: list[str] = []
    queued: list[str] = []
    if trace is not None:
        for offer in steady.offers(sheet.state, trace, name, figures, at):
            sheet.take(offer)
            queued.append(offer.offer)
    for n, loading in enumerate(figures.loadings):
        source = Source(trace=name, loading=n, start_s=loading.start_s, end_s=loading.end_s)
        wanted = _asked(sheet, asked, n)
        for offer in recognise.offers(sheet.state, loading, source, at, wanted):
            sheet.take(offer)
            if recognise.fills_itself(offer) and _accept(sheet, offer, at):
                filled.append(offer.fits[0].check)
            else:
                queued.append(offer.offer)
    return Followed(tuple(filled), tuple(queued))


def accept(sheet: Worksheet, offer: str, check: str, at: datetime) -> None:
    """Take a waiting offer for a check. Raises `JobError` where it may not be."""
    waiting = sheet.state.offers.get(offer)
    if waiting is None:
        raise JobError(f"There is no offer “{offer}” in the queue.")
    reading = recognise.accept(sheet.state, waiting, check, at)
    if reading is None:
        raise JobError(f"“{check}” is not among the checks that this loading fits.")
    sheet.take(reading)


def drop(sheet: Worksheet, offer: str, why: str, at: datetime) -> None:
    """Take an offer out of the queue; it stays in the job's list of events."""
    sheet.take(OfferDropped(at=at, offer=offer, why=why))


def _accept(sheet: Worksheet, offer: OfferMade, at: datetime) -> bool:
    reading = recognise.accept(sheet.state, offer, offer.fits[0].check, at, How.BY_ITSELF)
    if reading is None or sheet.may(reading) is not None:
        return False
    sheet.take(reading)
    return True


def _asked(sheet: Worksheet, asked: Sequence[str] | None, n: int) -> str | None:
    if asked is not None:
        return asked[n] or None if n < len(asked) else None
    following = next_check(sheet.state)
    return following.key if following else None
