"""Minimum and maximum of many samples in ever coarser bins, for drawing. No Qt.

A bin holds consecutive samples, counted from the start of the series, so that a picture does not
crawl when it is panned. No bin reaches across a gap. Missing values (NaN) inside a bin are passed
over; a bin of nothing else is NaN and is drawn as a gap.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol, Self

import numpy as np
from numpy.typing import NDArray

from gaugebench.desk.plot.gaps import breaks
from gaugebench.model.arrays import F64, U16

FACTOR = 16
"""Bins of one level in a bin of the next."""
LEAST_BINS = 2048
"""A level with fewer bins than this is not made coarser still."""

BIN_GAP = 1.008
"""A bin of a file's overview that is longer than usual by this holds a gap: two samples of 256."""

Starts = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Level:
    """One level: shape (n,) each. starts: the index of each bin's first sample."""

    starts: Starts
    low: F64
    high: F64


@dataclass(frozen=True, slots=True, eq=False)
class Polyline:
    """A line ready to be drawn: shape (n,) each; NaN in y where it breaks.

    is_columns: each instant stands twice, with the least and the greatest value of its column.
    """

    x: F64
    y: F64
    is_columns: bool = False


class Lines(Protocol):
    """What can be drawn between two instants."""

    def line(self, start_s: float, end_s: float, columns: int) -> Polyline:
        """What to draw between two instants in about so many pixel columns."""


def zigzag(low: F64, high: F64) -> F64:
    """Least and greatest of each column, one after the other, with short ways between columns."""
    y = np.empty(2 * len(low))
    y[0::4], y[1::4] = low[0::2], high[0::2]
    y[2::4], y[3::4] = high[1::2], low[1::2]
    return y


def _edges(first: int, last: int, step: int, cuts: Starts) -> Starts:
    """Where bins of `step` begin in [first, last): at multiples of `step`, and at every cut."""
    regular = np.arange(first - first % step, last, step, dtype=np.intp)
    regular[0] = first
    inside = cuts[np.searchsorted(cuts, first, "right") : np.searchsorted(cuts, last)]
    return np.union1d(regular, inside) if len(inside) else regular


class Pyramid:
    """The levels of one series. Building reads every sample once; drawing never does."""

    def __init__(self, times: F64, values: F64, quality: U16 | None = None) -> None:
        """`times`, `values`, `quality`: shape (n,); kept, not copied, and never changed."""
        self._build(times, values, values, breaks(times, quality))

    @classmethod
    def of_bins(cls, starts_s: F64, ends_s: F64, low: F64, high: F64) -> Self:
        """One over bins of samples: instants of each bin's first and last sample, and its least and
        greatest value, shape (n,) each. A bin in which samples are missing ends the line."""
        made = cls.__new__(cls)
        apart = np.diff(starts_s)
        usual = float(np.median(apart)) if len(apart) else math.inf
        # Two and a half samples of some hundred: a hole inside a bin makes it that much longer.
        wide = (apart > usual * BIN_GAP) | (np.diff(ends_s) > usual * BIN_GAP)
        made._build(starts_s, low, high, np.flatnonzero(wide) + 1)
        return made

    def _build(self, times: F64, low: F64, high: F64, cuts_at: Starts) -> None:
        self.times = times
        self.values, self.upper = low, high
        self.cuts: Starts = cuts_at
        self.levels: list[Level] = []
        starts = None
        while len(low) > LEAST_BINS * FACTOR:
            cuts = self.cuts if starts is None else np.searchsorted(starts, self.cuts)
            edges = _edges(0, len(low), FACTOR, cuts.astype(np.intp))
            low, high = np.fmin.reduceat(low, edges), np.fmax.reduceat(high, edges)
            starts = edges if starts is None else starts[edges]
            self.levels.append(Level(starts, low, high))

    def __len__(self) -> int:
        return len(self.times)

    def line(self, start_s: float, end_s: float, columns: int) -> Polyline:
        """What to draw between two instants in about `columns` pixel columns.

        Every sample's value lies between the least and greatest y of its column. One sample either
        side of the range is included, so that a line runs out of the picture.
        """
        first = max(int(np.searchsorted(self.times, start_s)) - 1, 0)
        last = min(int(np.searchsorted(self.times, end_s, "right")) + 1, len(self.times))
        if last <= first:
            return Polyline(np.empty(0), np.empty(0))
        columns = max(columns, 1)
        per_column = (last - first) / columns
        if per_column <= 2.0 and self.upper is self.values:
            return self._samples(first, last)
        return self._columns(first, last, max(per_column, 1.0))

    def extremes(self, start_s: float, end_s: float) -> tuple[float, float]:
        """Least and greatest value between two instants; NaN where there is none."""
        line = self.line(start_s, end_s, 256)
        if not len(line.y):
            return float("nan"), float("nan")
        return float(np.fmin.reduce(line.y)), float(np.fmax.reduce(line.y))

    def _samples(self, first: int, last: int) -> Polyline:
        x, y = self.times[first:last], self.values[first:last]
        at = np.searchsorted(self.cuts, (first, last))
        cuts = self.cuts[at[0] : at[1]] - first
        cuts = cuts[cuts > 0]
        if not len(cuts):
            return Polyline(x.copy(), y.copy())
        return Polyline(np.insert(x, cuts, x[cuts - 1]), np.insert(y, cuts, np.nan))

    def _columns(self, first: int, last: int, per_column: float) -> Polyline:
        level = self._level(per_column)
        if level is None:
            low, high, starts = self.values, self.upper, None
            begin, end, cuts, step = first, last, self.cuts, int(per_column)
        else:
            low, high, starts = level.low, level.high, level.starts
            begin = max(int(np.searchsorted(starts, first, "right")) - 1, 0)
            end = int(np.searchsorted(starts, last))
            cuts = np.searchsorted(starts, self.cuts).astype(np.intp)
            step = max(round(per_column * len(starts) / len(self.times)), 1)
        edges = _edges(begin, end, step, cuts)
        local = edges - begin
        lows = np.fmin.reduceat(low[begin:end], local)
        highs = np.fmax.reduceat(high[begin:end], local)
        at = edges if starts is None else starts[edges]
        x = np.repeat(self.times[at], 2)
        y = zigzag(lows, highs)
        split = np.flatnonzero(np.isin(edges, cuts)) if len(cuts) else cuts
        split = split[split > 0]
        if len(split):
            x = np.insert(x, 2 * split, self.times[at[split] - 1])
            y = np.insert(y, 2 * split, np.nan)
        return Polyline(x, y, is_columns=True)

    def _level(self, per_column: float) -> Level | None:
        """The coarsest level whose bins are no wider than a column."""
        found = None
        for level in self.levels:
            if len(self.times) / len(level.starts) > per_column:
                break
            found = level
        return found
