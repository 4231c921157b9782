"""A machine's past as it is drawn: checks over hours, zeros of transducers over days. No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from gaugebench.analyse.verdict import Outcome
from gaugebench.desk.names import role_title
from gaugebench.desk.shown import ABSENT, Shown
from gaugebench.desk.words import said, tr
from gaugebench.model.band import Band
from gaugebench.model.job import Phase, Value
from gaugebench.model.role import Role
from gaugebench.procedure import history
from gaugebench.procedure.state import JobState
from gaugebench.procedure.words import number
from gaugebench.quantity import Dimension


@dataclass(frozen=True, slots=True)
class Point:
    """A reading. x: h, or days since the year 1; y, expanded: inside unit."""

    x: float
    y: float
    expanded: float | None
    is_left: bool
    """As left, or after the work."""
    is_out: bool = False
    """Out of its band."""


@dataclass(frozen=True, slots=True)
class Trend:
    """One thing through the jobs. rows: date, hours, when, reading, verdict, in words.

    over_days: x counts days; else hours of the machine. unplaced: readings without an hour meter.
    """

    title: str
    dimension: Dimension
    points: tuple[Point, ...]
    rows: tuple[tuple[str, ...], ...]
    band: str = ""
    limits: Band | None = None
    over_days: bool = False
    unplaced: int = 0

    @property
    def newest(self) -> str:
        """The last reading in words."""
        return self.rows[-1][3] if self.rows else ABSENT


def trends(jobs: Sequence[JobState], shown: Shown) -> tuple[Trend, ...]:
    """Every check of a machine, then the zero of every transducer that was used on it."""
    found = [_check(h) for h in history.checks(jobs, shown.pressure)]
    zeros: dict[tuple[str, str], list[history.ZeroEntry]] = {}
    for entry in history.zeros(jobs):
        zeros.setdefault((entry.serial, entry.role), []).append(entry)
    return (*found, *(_zero(own, shown) for own in zeros.values()))


def _check(past: history.CheckHistory) -> Trend:
    points, rows = [], []
    for e in past.entries:
        verdict = {
            Outcome.PASS: tr("in its band"),
            Outcome.FAIL: tr("OUT OF ITS BAND"),
            Outcome.CANNOT_TELL: tr("cannot tell"),
            None: tr("no verdict"),
        }[e.outcome]
        hours = ABSENT if e.hours is None else f"{e.hours:.0f} h"
        text = said(number(e.value, past.shown_in))
        rows.append((f"{e.at:%Y-%m-%d}", hours, said(e.phase.value), text, verdict))
        if e.hours is not None:
            points.append(
                Point(
                    e.hours, e.value.value, e.value.expanded,
                    e.phase is Phase.AS_LEFT, e.outcome is Outcome.FAIL,
                )
            )  # fmt: skip
    unplaced = len(rows) - len(points)
    return Trend(
        past.title, past.dimension, tuple(points), tuple(rows), said(past.band), past.limits,
        unplaced=unplaced,
    )  # fmt: skip


def _zero(entries: Sequence[history.ZeroEntry], shown: Shown) -> Trend:
    points, rows = [], []
    for e in entries:
        moments = [(v, is_after) for v, is_after in ((e.before, False), (e.after, True)) if v]
        for (_, is_after), own in zip(moments, e.own, strict=True):
            when = tr("after the work") if is_after else tr("before the work")
            rows.append((f"{e.at:%Y-%m-%d}", ABSENT, when, _text(own, shown), ""))
            points.append(Point(float(e.at.date().toordinal()), own.value, own.expanded, is_after))
    first = entries[0]
    title = tr("Zero of {serial}, {role}", serial=first.serial or "?",
               role=role_title(Role.parse(first.role)))  # fmt: skip
    return Trend(title, Dimension.PRESSURE, tuple(points), tuple(rows), over_days=True)


def _text(value: Value, shown: Shown) -> str:
    return said(number(value, shown.pressure))


def day_of(ordinal: float) -> str:
    """A day on the axis; empty outside of what a calendar has."""
    whole = round(ordinal)
    return date.fromordinal(whole).isoformat() if 1 <= whole <= date.max.toordinal() else ""
