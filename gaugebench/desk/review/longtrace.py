"""A trace too long for memory: drawn from its file's overview, and read a stretch at a time. No Qt.

The whole trace stands in memory as minima and maxima of some hundred samples each. What is looked
at more closely than that is fetched from the file, with as much again on either side, and let go
when the view has moved on; until it has come, the coarse bins are shown.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gaugebench.desk.plot.pyramid import Polyline, Pyramid
from gaugebench.model.channel import Channel
from gaugebench.model.trace import Series, Trace
from gaugebench.store.layout import levels
from gaugebench.store.streamwriter import Place
from gaugebench.store.tracefile import Overview, TraceFile

LONG_SAMPLES = 40_000_000
"""A trace with more samples than this is not read whole: 8 channels at 1 kHz for 83 minutes."""
MOST_BINS = 400_000
"""Bins of one channel in memory: a day at 1 kHz takes 337 500."""
ABOUT_S = 8.0
"""What is read at once for the values at a cursor or of a replay."""
SLOWEST_S = 2.0
"""The slowest channels have a sample a second."""
AROUND = 1.0
"""What is fetched on either side of the view, as a share of it."""


@dataclass(frozen=True, slots=True)
class Wish:
    """A stretch to be fetched, s, and the least number of bins that it must have."""

    start_s: float
    end_s: float
    bins: int


@dataclass(frozen=True, slots=True, eq=False)
class Near:
    """A stretch that was fetched. step: samples in its coarsest bin; 1 for samples."""

    start_s: float
    end_s: float
    step: int
    lines: tuple[Pyramid, ...]


def is_long(file: TraceFile) -> bool:
    """Whether a trace is not to be read whole."""
    return sum(file.rows[p.stream] for p in file.places if p.stream in file.rows) > LONG_SAMPLES


class LongTrace:
    """The file of a long trace, and what of it is in memory."""

    def __init__(self, file: TraceFile) -> None:
        """Read the overview. Raises `TraceError`."""
        self.file = file
        self.span_s = file.span_s()
        found = [self._coarse(place) for place in file.places]
        self.far = _pyramids(found)
        self.step = max((f.samples_per_bucket for f in found), default=1)
        self.near: Near | None = None
        self._about: Trace | None = None
        self._first_s = self._last_s = 0.0

    @property
    def channels(self) -> tuple[Channel, ...]:
        """The channels, in order."""
        return tuple(place.channel for place in self.file.places)

    @property
    def memory_bytes(self) -> int:
        """What the overview and the stretch that was fetched take."""
        near = self.near.lines if self.near is not None else ()
        return _bytes([*self.far, *near])

    def head(self) -> Trace:
        """All but the samples: every channel has an empty series."""
        none = np.empty(0)
        flags = np.empty(0, np.uint16)
        series = tuple(Series(p.channel, none, none, flags, p.stream) for p in self.file.places)
        return replace(self.file.head, series=series)

    def between(self, start_s: float, end_s: float, only: Collection[str]) -> Trace:
        """The samples of a stretch and of the channels so called, read from the file.

        Raises `TraceError`.
        """
        return self.file.window(start_s, end_s, only)

    def about(self, time_s: float, read: Callable[[float, float], Trace]) -> Trace:
        """The samples about an instant; read anew only when it leaves what was read last."""
        if self._about is None or not self._first_s + SLOWEST_S <= time_s <= self._last_s:
            self._first_s, self._last_s = time_s - ABOUT_S / 2, time_s + ABOUT_S
            self._about = read(self._first_s, self._last_s + SLOWEST_S)
        return self._about

    def lines(self) -> tuple[ChannelLines, ...]:
        """What draws each channel."""
        return tuple(ChannelLines(self, i) for i in range(len(self.far)))

    def wish(self, start_s: float, end_s: float, columns: int) -> Wish | None:
        """What must be fetched to draw a view as finely as its columns; None where all is there."""
        per_column = self._samples(end_s - start_s) / max(columns, 1)
        if per_column >= self.step or self.step == 1:
            return None
        near = self.near
        is_fine = near is not None and near.step <= max(per_column, 1.0)
        if near is not None and is_fine and _covers(near, start_s, end_s, self.span_s):
            return None
        air = AROUND * (end_s - start_s)
        low, high = max(start_s - air, self.span_s[0]), min(end_s + air, self.span_s[1])
        share = (high - low) / max(end_s - start_s, 1e-9)
        return Wish(low, high, max(round(columns * share), 1))

    def fetch(self, wish: Wish) -> Near:
        """Read a stretch; takes tenths of a second, so off the window's thread."""
        end = np.nextafter(wish.end_s, np.inf)
        found = [
            self.file.overview(p.channel.name, wish.start_s, end, wish.bins)
            for p in self.file.places
        ]
        step = max(f.samples_per_bucket for f in found)
        return Near(wish.start_s, wish.end_s, step, _pyramids(found))

    def line(self, index: int, start_s: float, end_s: float, columns: int) -> Polyline:
        """The line of one channel, as finely as it is in memory."""
        near = self.near
        per_column = self._samples(end_s - start_s) / max(columns, 1)
        is_closer = per_column < self.step and near is not None and near.step < self.step
        if near is not None and is_closer and _covers(near, start_s, end_s, self.span_s):
            return near.lines[index].line(start_s, end_s, columns)
        return self.far[index].line(start_s, end_s, columns)

    def _samples(self, seconds: float) -> float:
        """Samples of the fastest stream in so many seconds, about."""
        whole = self.span_s[1] - self.span_s[0]
        return max(self.file.rows.values(), default=0) * seconds / whole if whole else 0.0

    def _coarse(self, place: Place) -> Overview:
        rows = self.file.rows[place.stream]
        steps = [step for step in levels(rows) if rows // step <= MOST_BINS]
        bins = rows // steps[0] if steps and rows > MOST_BINS else rows + 1
        start, end = self.span_s
        return self.file.overview(place.channel.name, start, np.nextafter(end, np.inf), bins)


def _pyramids(found: Sequence[Overview]) -> tuple[Pyramid, ...]:
    """One for each channel; those of one stream share their times."""
    made: list[Pyramid] = []
    for one in found:
        times = next((p.times for p in made if np.array_equal(p.times, one.start_s)), one.start_s)
        if one.samples_per_bucket > 1:
            made.append(Pyramid.of_bins(times, one.end_s, one.low, one.high))
        else:
            made.append(Pyramid(times, one.low))
    return tuple(made)


def _covers(near: Near, start_s: float, end_s: float, span_s: tuple[float, float]) -> bool:
    """Whether a stretch holds all of a view that there is."""
    return near.start_s <= max(start_s, span_s[0]) and near.end_s >= min(end_s, span_s[1])


def _bytes(lines: Sequence[Pyramid]) -> int:
    arrays: dict[int, NDArray[Any]] = {}
    for one in lines:
        own: list[NDArray[Any]] = [one.times, one.values, one.upper]
        own += [a for level in one.levels for a in (level.low, level.high, level.starts)]
        arrays |= {id(a): a for a in own}
    return sum(a.nbytes for a in arrays.values())


@dataclass(frozen=True, slots=True, eq=False)
class ChannelLines:
    """One channel of a long trace, to be drawn."""

    trace: LongTrace
    index: int

    def line(self, start_s: float, end_s: float, columns: int) -> Polyline:
        """What to draw between two instants in about so many pixel columns."""
        return self.trace.line(self.index, start_s, end_s, columns)
