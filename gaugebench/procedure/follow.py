"""Following the work: every loading and quiet stretch of a trace becomes an offer in the queue.

Nothing need be touched for it, and nothing of as-found is lost: an offer is on disk at once, and
waits until it is accepted or dropped.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from gaugebench.errors import JobError
from gaugebench.model.figures import Figure, FigureSet, LoadingFigures
from gaugebench.model.job import How, OfferDropped, OfferMade, Source, StallEnded
from gaugebench.model.saying import Saying
from gaugebench.model.trace import Trace
from gaugebench.procedure import recognise, steady
from gaugebench.procedure.prompt import next_check
from gaugebench.procedure.state import JobState
from gaugebench.procedure.worksheet import Worksheet
from gaugebench.quantity import Dimension, parse


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
    started = trace.started if trace is not None else None
    known = sheet.state.stalls
    for n, loading in enumerate(figures.loadings):
        stall = _stall(sheet.state, loading, at, started)
        if started is None or started.tzinfo is None or not _is_known(stall, known):
            sheet.take(stall)
        source = Source(trace=name, loading=n, start_s=loading.start_s, end_s=loading.end_s)
        wanted = _asked(sheet, asked, n)
        for offer in recognise.offers(sheet.state, loading, source, at, wanted):
            sheet.take(offer)
            if recognise.fills_itself(offer) and _accept(sheet, offer, at):
                filled.append(offer.fits[0].check)
            else:
                queued.append(offer.offer)
    return Followed(tuple(filled), tuple(queued))


def _is_known(stall: StallEnded, known: Sequence[StallEnded]) -> bool:
    """Whether the coach already put this hold into the budget while it stood."""
    begun = stall.at - timedelta(seconds=stall.seconds)
    return any(begun <= k.at and k.at - timedelta(seconds=k.seconds) <= stall.at for k in known)


def _stall(
    state: JobState, loading: LoadingFigures, at: datetime, started: datetime | None
) -> StallEnded:
    """The loading for the heat budget: the whole of it, at full flow, as if all went over relief.

    That is more than truly went over, so the coach errs towards rest.
    """
    idle = state.sheet.machine.rated_speed
    rpm = state.conditions.engine_rpm or (parse(idle, Dimension.SPEED) if idle else 2000.0)
    power = 0.0
    for pump in state.sheet.pump:
        figures = loading.pumps.get(pump.number)
        if figures is None or not isinstance(figures.settled, Figure):
            continue
        size = parse(pump.displacement, Dimension.VOLUME) if pump.displacement else 1e-4
        power += max(0.0, figures.settled.value) * size * pump.drive_ratio * rpm / 60
    tops = [p.t50.value for p in loading.pumps.values() if isinstance(p.t50, Figure)]
    is_dated = started is not None and started.tzinfo is not None
    ended = started + timedelta(seconds=loading.end_s) if started and is_dated else at
    return StallEnded(
        at=ended,
        function="",
        seconds=max(0.0, loading.end_s - min(tops, default=loading.start_s)),
        power_w=power,
        oil_c=state.conditions.oil_c,
    )


def accept(sheet: Worksheet, offer: str, check: str, at: datetime) -> None:
    """Take a waiting offer for a check. Raises `JobError` where it may not be."""
    waiting = sheet.state.offers.get(offer)
    if waiting is None:
        raise JobError(Saying("There is no offer “{offer}” in the queue.", offer=offer))
    reading = recognise.accept(sheet.state, waiting, check, at)
    if reading is None:
        raise JobError(
            Saying("“{check}” is not among the checks that this loading fits.", check=check)
        )
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
