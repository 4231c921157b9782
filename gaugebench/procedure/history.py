"""A machine over its hours: its checks job after job, and the zeros of the transducers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np

from gaugebench.analyse.verdict import Outcome
from gaugebench.model.arrays import F64
from gaugebench.model.band import Band
from gaugebench.model.job import Phase, Value
from gaugebench.procedure.judge import verdict_of
from gaugebench.procedure.state import JobState
from gaugebench.procedure.words import band_text, number, shown_unit
from gaugebench.quantity import Dimension


@dataclass(frozen=True, slots=True)
class Entry:
    """One reading of a check in one job. hours: of the machine, None where not stated."""

    job: str
    at: datetime
    hours: float | None
    phase: Phase
    value: Value
    outcome: Outcome | None


@dataclass(frozen=True, slots=True)
class CheckHistory:
    """A check through the jobs, oldest first. band, limits: of the newest job's sheet."""

    key: str
    title: str
    band: str
    shown_in: str
    entries: tuple[Entry, ...]
    dimension: Dimension
    limits: Band | None = None


@dataclass(frozen=True, slots=True, eq=False)
class HistoryLine:
    """A check's points of one phase for a chart over hour meter.

    hours, values, expanded: shape (n,), h and the inside unit; expanded is NaN where not known.
    """

    check: str
    phase: Phase
    hours: F64
    values: F64
    expanded: F64


@dataclass(frozen=True, slots=True)
class ZeroEntry:
    """A transducer's zeros in one job; None where not checked.

    taken_off_pa: the zero that the kit took off when they were read; what the transducer itself
    gives without pressure is the reading and this, and that is what drifts.
    """

    role: str
    serial: str
    at: datetime
    before: Value | None
    after: Value | None
    taken_off_pa: float = 0.0

    @property
    def own(self) -> tuple[Value, ...]:
        """Its own zero before and after, as far as they were read, Pa."""
        return tuple(
            v.model_copy(update={"value": v.value + self.taken_off_pa})
            for v in (self.before, self.after)
            if v is not None
        )


@dataclass(frozen=True, slots=True)
class Machine:
    """A machine and its jobs, oldest first. serial: "" where none was stated.

    simulated: all of its jobs are practice.
    """

    name: str
    serial: str
    jobs: tuple[JobState, ...]
    simulated: bool = False


def find(
    jobs: Iterable[JobState],
    *,
    words: str = "",
    serial: str = "",
    customer: str = "",
    since: date | None = None,
    until: date | None = None,
) -> tuple[JobState, ...]:
    """The jobs that bear the serial and the customer and began in those days, oldest first.

    Serial and customer are held against the whole text, letter case left out; a customer is also
    found by a part of it. words: each of them is a part of serial, customer, machine, site or job.
    """
    parts = words.casefold().split()

    def wanted(job: JobState) -> bool:
        o = job.opened
        named = "\n".join((o.serial, o.customer, o.machine, o.site, o.job)).casefold()
        return (
            all(part in named for part in parts)
            and (not serial or o.serial.casefold() == serial.casefold())
            and (not customer or customer.casefold() in o.customer.casefold())
            and (since is None or o.at.date() >= since)
            and (until is None or o.at.date() <= until)
        )

    return tuple(sorted((j for j in jobs if wanted(j)), key=lambda j: j.opened.at))


def machines(jobs: Iterable[JobState]) -> tuple[Machine, ...]:
    """The jobs by machine, the machine that was last visited first.

    A serial is one machine whatever it was called; without one the name has to do. Practice is
    never mixed with what was measured.
    """
    groups: dict[tuple[bool, str], list[JobState]] = {}
    for job in sorted(jobs, key=lambda j: j.opened.at):
        o = job.opened
        name = o.serial.casefold() or f"\n{o.machine.casefold()}"
        groups.setdefault((o.simulated, name), []).append(job)
    found = [
        Machine(own[-1].opened.machine, own[-1].opened.serial, tuple(own), simulated)
        for (simulated, _), own in groups.items()
    ]
    return tuple(sorted(found, key=lambda m: m.jobs[-1].opened.at, reverse=True))


def checks(jobs: Sequence[JobState], pressure: str = "bar") -> tuple[CheckHistory, ...]:
    """Each check of the newest job's sheet through the jobs of one machine."""
    ordered = sorted(jobs, key=lambda j: j.opened.at)
    if not ordered:
        return ()
    found = []
    for check in ordered[-1].sheet.check:
        entries = tuple(e for job in ordered for e in _entries(job, check.key))
        if entries:
            there = shown_unit(check, pressure)
            band = band_text(check, pressure)
            found.append(
                CheckHistory(
                    check.key, check.title, band, there, entries, check.dimension, check.limits
                )
            )
    return tuple(found)


def _entries(job: JobState, key: str) -> Iterable[Entry]:
    check = job.sheet.find_check(key)
    for phase in Phase:
        reading = job.reading(key, phase)
        if check is None or reading is None:
            continue
        verdict = verdict_of(job, check, reading)
        yield Entry(
            job=job.opened.job,
            at=reading.at,
            hours=job.opened.hour_meter_h,
            phase=phase,
            value=reading.value,
            outcome=verdict.outcome if verdict else None,
        )


def lines(history: CheckHistory) -> tuple[HistoryLine, ...]:
    """The points of a check for a chart; readings without an hour meter are left out."""
    found = []
    for phase in Phase:
        points = [
            (e.hours, e.value.value, np.nan if e.value.expanded is None else e.value.expanded)
            for e in history.entries
            if e.phase is phase and e.hours is not None
        ]
        if points:
            array = np.array(sorted(points), dtype=np.float64)
            columns = (array[:, 0], array[:, 1], array[:, 2])
            found.append(HistoryLine(history.key, phase, *columns))
    return tuple(found)


def table(histories: Iterable[CheckHistory]) -> tuple[tuple[str, ...], ...]:
    """Rows of check, band, hours, date, phase, reading, verdict, as text."""
    return tuple(
        (
            h.title,
            h.band,
            "–" if e.hours is None else f"{e.hours:.0f} h",
            f"{e.at:%Y-%m-%d}",
            e.phase.value,
            number(e.value, h.shown_in),
            "no band" if e.outcome is None else e.outcome.value,
        )
        for h in histories
        for e in h.entries
    )


def zeros(jobs: Iterable[JobState]) -> tuple[ZeroEntry, ...]:
    """The zeros of every transducer through the jobs, oldest first."""
    found = []
    for job in sorted(jobs, key=lambda j: j.opened.at):
        seen = dict.fromkeys((z.role, z.serial) for z in job.zeros)
        for role, serial in seen:
            own = [z for z in job.zeros if (z.role, z.serial) == (role, serial)]
            values = {z.moment: z.value for z in own}
            last = own[-1]
            before, after = values.get("before"), values.get("after")
            found.append(ZeroEntry(role, serial, last.at, before, after, last.taken_off_pa))
    return tuple(found)
