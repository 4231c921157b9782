"""Two sides lined up on an instant: lines, difference, and figures in two columns. No Qt."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Protocol

import numpy as np

from gaugebench.desk.plot.gaps import GAP_STEPS, usual_step
from gaugebench.desk.plot.pyramid import Polyline
from gaugebench.desk.review.opened import Opened
from gaugebench.desk.review.rows import PUMP_ROWS
from gaugebench.desk.shown import ABSENT, Shown
from gaugebench.desk.words import tr
from gaugebench.model.arrays import F64
from gaugebench.model.figures import Absent, Answer, Event, Figure, LoadingFigures, PumpFigures
from gaugebench.model.role import Port, Role
from gaugebench.model.trace import Series
from gaugebench.quantity import Dimension


class Anchor(StrEnum):
    """The instant that both sides are lined up on."""

    HALF_WAY = "half way up"
    START = "loading starts"
    CRACK = "relief cracks"
    DESTROKE = "de-stroke onset"
    END = "loading ends"


@dataclass(frozen=True, slots=True, eq=False)
class Side:
    """One pump in one loading of one trace. nudge_s: moved by hand, later is positive."""

    opened: Opened
    loading: int
    pump: int
    nudge_s: float = 0.0

    @property
    def figures(self) -> PumpFigures:
        """Its figures."""
        return self.where.pumps[self.pump]

    @property
    def where(self) -> LoadingFigures:
        """Its loading."""
        return self.opened.figures.loadings[self.loading]

    @property
    def title(self) -> str:
        """What it is called."""
        return tr(
            "pump {pump}, loading {loading}, {name}",
            pump=self.pump,
            loading=self.loading + 1,
            name=self.opened.title,
        )

    @property
    def span_s(self) -> tuple[float, float]:
        """Where its loading begins and ends, on its own clock."""
        return self.where.start_s, self.where.end_s

    @property
    def main_title(self) -> str:
        """What is drawn above."""
        return tr("Main")

    @property
    def dimension(self) -> Dimension:
        """What is drawn, as a quantity."""
        return Dimension.PRESSURE

    def samples(self, port: Port, start_s: float, end_s: float) -> Series | None:
        """Its main or control pressure between two instants of its own clock."""
        role = Role.main(self.pump) if port is Port.MAIN else Role.control(self.pump)
        return self.opened.between(start_s, end_s, role).find(role)

    def anchor_s(self, anchor: Anchor) -> float | None:
        """The instant on its own clock, or None where there is none."""
        instants: dict[Anchor, Answer | Event | float] = {
            Anchor.HALF_WAY: self.figures.t50,
            Anchor.START: self.where.start_s,
            Anchor.CRACK: self.figures.relief_crack,
            Anchor.DESTROKE: self.figures.destroke_onset,
            Anchor.END: self.where.end_s,
        }
        match instants[anchor]:
            case float(value):
                return value
            case Figure(value):
                return value
            case Event(time):
                return time.value
            case _:
                return None


class Drawn(Protocol):
    """What can be lined up with another: a pump in a loading, or a stretch of one channel."""

    @property
    def opened(self) -> Opened:
        """Its trace."""

    @property
    def nudge_s(self) -> float:
        """Moved by hand, later is positive."""

    @property
    def title(self) -> str:
        """What it is called."""

    @property
    def span_s(self) -> tuple[float, float]:
        """Where it begins and ends, on its own clock."""

    @property
    def main_title(self) -> str:
        """What is drawn above."""

    @property
    def dimension(self) -> Dimension:
        """What is drawn, as a quantity."""

    def samples(self, port: Port, start_s: float, end_s: float) -> Series | None:
        """What is drawn, between two instants of its own clock."""

    def anchor_s(self, anchor: Anchor) -> float | None:
        """The instant on its own clock, or None where there is none."""


def first_side(opened: Opened) -> Side | None:
    """The first pump of the first loading."""
    for index, loading in enumerate(opened.figures.loadings):
        for pump in sorted(loading.pumps):
            return Side(opened, index, pump)
    return None


def other_pump(side: Side) -> Side | None:
    """The other pump in the same loading; else the next loading that has another pump."""
    here = [p for p in sorted(side.where.pumps) if p != side.pump]
    if here:
        return replace(side, pump=here[0])
    for index, loading in enumerate(side.opened.figures.loadings):
        for pump in sorted(loading.pumps):
            if pump != side.pump:
                return Side(side.opened, index, pump)
    return None


def cut(side: Drawn, port: Port, zero_s: float, before_s: float, after_s: float) -> Series | None:
    """The samples round an instant, with their times counted from it; None where there are none."""
    part = side.samples(port, zero_s - before_s, zero_s + after_s)
    return replace(part, times=part.times - zero_s) if part is not None and len(part) else None


def difference(first: Series, second: Series) -> Polyline:
    """Second less first on the times of the slower one; NaN where either has a gap.

    The faster is joined by straight lines between its samples for this picture alone.
    """
    steps = usual_step(first.times), usual_step(second.times)
    if not all(math.isfinite(s) for s in steps):
        return Polyline(np.empty(0), np.empty(0))
    times = first.times if steps[0] >= steps[1] else second.times
    values = _at(second, times) - _at(first, times)
    return Polyline(times.copy(), values)


def _at(series: Series, times: F64) -> F64:
    good = np.isfinite(series.values)
    if not good.any():
        return np.full_like(times, np.nan)
    known, values = series.times[good], series.values[good]
    after = np.clip(np.searchsorted(known, times), 1, max(len(known) - 1, 1))
    found = np.interp(times, known, values, left=np.nan, right=np.nan)
    if len(known) > 1:
        wide = known[after] - known[after - 1] > GAP_STEPS * usual_step(series.times)
        on_sample = np.isin(times, known)
        found[wide & ~on_sample] = np.nan
    return found


_LEFT_OUT = {"ripple_rms", "raw_peak", "t50"}
"""Says the same as another row, is a single sample, or is a time of its own trace."""


def figure_rows(one: Side, two: Side, shown: Shown) -> list[list[str]]:
    """Rows of name, first, second, difference (second less first), share of the first."""
    rows = []
    for key, title in PUMP_ROWS:
        if key in _LEFT_OUT:
            continue
        first, second = (_number(getattr(side.figures, key)) for side in (one, two))
        texts = [shown.figure(f) if f is not None else ABSENT for f in (first, second)]
        rows.append([tr(title), *texts, *_apart(first, second, shown)])
    rows.append(
        [tr("Held by"), *(tr(s.figures.limited_by.limiter.value) for s in (one, two)), "", ""]
    )
    return [*rows, *conditions(one, two, shown)]


def conditions(one: Drawn, two: Drawn, shown: Shown) -> list[list[str]]:
    """Temperature and speed in each loading: two figures under unlike conditions are unlike."""
    rows = []
    for name, title in (("oil.temperature", "Oil"), ("engine.speed", "Engine")):
        role = Role(name)
        means = [_mean(side, role) for side in (one, two)]
        texts = [shown.text(m, role.dimension) for m in means]
        apart = shown.text(means[1] - means[0], role.dimension)
        rows.append([tr(title), *texts, apart, ""])
    return rows


def _mean(side: Drawn, role: Role) -> float:
    part = side.opened.between(*side.span_s, role).find(role)
    if part is None:
        return math.nan
    good = part.values[np.isfinite(part.values)]
    return float(good.mean()) if len(good) else math.nan


def _number(answer: Answer | Event) -> Figure | None:
    match answer:
        case Figure():
            return answer
        case Event(_, Figure() as pressure):
            return pressure
        case Absent() | _:
            return None


def _apart(first: Figure | None, second: Figure | None, shown: Shown) -> list[str]:
    if first is None or second is None:
        return [ABSENT, ABSENT]
    both = [f.expanded for f in (first, second)]
    spread = math.hypot(*(e for e in both if e is not None)) if None not in both else None
    apart = Figure(second.value - first.value, first.unit, spread)
    return [shown.figure(apart), _share(first, second, shown)]


def _share(first: Figure, second: Figure, shown: Shown) -> str:
    """The difference in per cent of the first; its ± as of two readings that err apart."""
    if not first.value or first.unit != Dimension.PRESSURE.value:
        return ABSENT
    ratio, spread = second.value / first.value, None
    if first.expanded is not None and second.expanded is not None:
        # JCGM 100:2008, 5.1.2, for a quotient: dq² = (db / a)² + (q · da / a)².
        apart = math.hypot(second.expanded, ratio * first.expanded)
        spread = 100 * apart / abs(first.value)
    return shown.figure(Figure(100 * (ratio - 1), "%", spread))
