"""Where the loadings are: one incremental segmenter, shared by live and review.

It is fed samples of the pumps' main pressures in blocks of any size. Samples are gathered in bins
of `BIN_S` on a fixed grid of the trace's clock, so that the answer does not depend on how the
samples were cut into blocks. Everything it decides, it decides from what came before and a bounded
stretch after, so that a live run and a review of the finished trace agree.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from gaugebench.analyse.track import PumpSpan, PumpTrack
from gaugebench.model.arrays import F64

BIN_S = 0.05
"""Long enough to outlast a spike with a few samples in it, a tenth of what a live mark may take."""
BEFORE_S = 6.0
"""How far before its start a loading's figures may look."""
AFTER_S = 0.5
"""How far after its end a loading's figures may look."""
TOGETHER_S = 1.0
"""Pumps that drop within this of each other were in one loading that the trace began in."""
LONGEST_S = 300.0
"""The longest stretch that a loading's figures are taken from, counted back from its end."""


@dataclass(frozen=True, slots=True)
class LoadingSpan:
    """One loading as the segmenter sees it; instants are bin edges, refined by the figures.

    number: from 0, in order of time. window_start_s, window_end_s: the bounded stretch of samples
    that the loading's figures are taken from. pumps: the pumps in the loading.
    """

    number: int
    start_s: float
    end_s: float
    window_start_s: float
    window_end_s: float
    pumps: dict[int, PumpSpan]


class OnBin(Protocol):
    """What wants to see every bin as it is used."""

    def __call__(self, pump: int, level: float, /, *, is_up: bool) -> None:
        """Take a bin."""


@dataclass(slots=True)
class _Feed:
    """Samples of one pump's main pressure that do not yet fill a bin, and bins not yet used."""

    times: F64 = field(default_factory=lambda: np.empty(0))
    values: F64 = field(default_factory=lambda: np.empty(0))
    bins: list[tuple[int, float, int]] = field(default_factory=list)
    reached: int | None = None


class Segmenter:
    """Fed with `feed` and `advance`, ended with `finish`; each hands back loadings that ended."""

    def __init__(self, pumps: Iterable[int], max_wait_s: float = math.inf) -> None:
        """`pumps`: the pumps to watch. `max_wait_s`: a pump whose samples lag further than this
        behind the others is no longer waited for (live only)."""
        self._feeds = {pump: _Feed() for pump in pumps}
        self.tracks = {pump: PumpTrack(BIN_S) for pump in self._feeds}
        self._wait = math.inf if math.isinf(max_wait_s) else max(1, round(max_wait_s / BIN_S))
        self._open: dict[int, PumpSpan] = {}
        self._number = 0
        self._last_end_s = -math.inf
        self._pending: list[LoadingSpan] = []
        self._bin = 0
        self.on_bin: OnBin | None = None
        """Called with every bin used: the pump, the level (Pa), and whether the pump is up."""
        self.on_discard: Callable[[int], None] | None = None
        """Called with its would-be number when what looked like a loading was not held."""

    @property
    def count(self) -> int:
        """How many loadings have ended so far: the number of the one that is open."""
        return self._number

    @property
    def now_s(self) -> float:
        """The end of the last bin that was used, s on the trace's clock."""
        return self._bin * BIN_S

    @property
    def needed_from_s(self) -> float:
        """Samples from before this instant are in no window that is still to come."""
        starts = [span.start_s for span in self._open.values()]
        starts += [t.may_start_s for t in self.tracks.values()]
        windows = [span.window_start_s for span in self._pending]
        earliest = min((self.now_s, *starts)) - BEFORE_S
        return max(min((earliest, *windows)), self.now_s - LONGEST_S - AFTER_S)

    def feed(self, pump: int, times: F64, values: F64) -> None:
        """Take samples of a pump's main pressure (Pa), in order of time; NaN is no sample."""
        feed = self._feeds[pump]
        if len(times) == 0:
            return
        reached = math.floor(times[-1] / BIN_S)
        good = np.isfinite(values)
        if not good.all():
            times, values = times[good], values[good]
        if len(feed.times):
            times = np.concatenate((feed.times, times))
            values = np.concatenate((feed.values, values))
        cut = int(np.searchsorted(times, reached * BIN_S))
        feed.bins.extend(_bins(times[:cut], values[:cut]))
        feed.times, feed.values = times[cut:].copy(), values[cut:].copy()
        feed.reached = reached

    def advance(self) -> tuple[LoadingSpan, ...]:
        """Use the bins that are complete for all pumps; the loadings that have thereby ended."""
        started = [f.reached for f in self._feeds.values() if f.reached is not None]
        if not started:
            return ()
        ahead = max(started)
        limit = min(
            (f.reached for f in self._feeds.values() if f.reached is not None), default=ahead
        )
        if len(started) < len(self._feeds) and math.isinf(self._wait):
            return ()
        if ahead - limit > self._wait:
            limit = ahead - int(self._wait)
        return self._use(limit)

    def finish(self) -> tuple[LoadingSpan, ...]:
        """The trace ends: use all that is left and close what is open."""
        last = self._bin
        for feed in self._feeds.values():
            feed.bins.extend(_bins(feed.times, feed.values))
            feed.times, feed.values = np.empty(0), np.empty(0)
            if feed.bins:
                last = max(last, feed.bins[-1][0] + 1)
        done = list(self._use(last))
        for pump, track in self.tracks.items():
            if (span := track.finish()) is not None:
                self._open[pump] = span
        self._close()
        done += self._pending
        self._pending = []
        return tuple(done)

    def _use(self, limit: int) -> tuple[LoadingSpan, ...]:
        merged: list[tuple[int, int, float, int]] = []
        for pump, feed in self._feeds.items():
            keep = 0
            for keep, (number, _, _) in enumerate(feed.bins):  # noqa: B007
                if number >= limit:
                    break
            else:
                keep = len(feed.bins)
            merged += [(number, pump, level, n) for number, level, n in feed.bins[:keep]]
            feed.bins = feed.bins[keep:]
        merged.sort()
        done: list[LoadingSpan] = []
        for number, pump, level, _ in merged:
            if number >= self._bin:
                self._bin = number + 1
            track = self.tracks[pump]
            if (span := track.step(number, level)) is not None:
                self._open[pump] = self._joined(pump, span)
            if self.on_bin is not None:
                self.on_bin(pump, level, is_up=track.is_up)
            if self._open and not self._goes_on(number):
                self._close()
            while self._pending and number * BIN_S >= self._pending[0].window_end_s:
                done.append(self._pending.pop(0))
        self._bin = max(self._bin, limit)
        return tuple(done)

    def _goes_on(self, number: int) -> bool:
        """Whether the loading whose pumps have ended so far is joined by others."""
        if any(t.is_up or t.may_be_up for t in self.tracks.values()):
            return True
        # Pumps that the trace finds driven up together do not fall in the same bin.
        began = [s for s in self._open.values() if s.cut_start]
        recent = any(number * BIN_S < s.end_s + TOGETHER_S for s in began)
        return recent and any(t.undecided for t in self.tracks.values())

    def _joined(self, pump: int, span: PumpSpan) -> PumpSpan:
        """Of two stretches of one pump in one loading, the longer."""
        old = self._open.get(pump)
        if old is not None and old.end_s - old.start_s > span.end_s - span.start_s:
            return old
        return span

    def _close(self) -> None:
        held = {pump: span for pump, span in sorted(self._open.items()) if span.held}
        was_open, self._open = bool(self._open), {}
        if not held:
            if was_open and self.on_discard is not None:
                self.on_discard(self._number)
            return
        start = min(s.start_s for s in held.values())
        end = max(s.end_s for s in held.values())
        self._pending.append(
            LoadingSpan(
                number=self._number,
                start_s=start,
                end_s=end,
                window_start_s=max(start - BEFORE_S, self._last_end_s, end - LONGEST_S),
                window_end_s=end + AFTER_S,
                pumps=held,
            )
        )
        self._number += 1
        self._last_end_s = end


def _bins(times: F64, values: F64) -> list[tuple[int, float, int]]:
    """Number, level and count of each bin that has samples.

    The level is the mean without the largest and the smallest sample, where there are four or
    more: one spike in a bin does not move it.
    """
    if len(times) == 0:
        return []
    first, last = math.floor(times[0] / BIN_S), math.floor(times[-1] / BIN_S)
    edges = np.searchsorted(times, np.arange(first, last + 1) * BIN_S)
    edges[0] = 0
    counts = np.diff(np.append(edges, len(times)))
    filled = counts > 0
    starts, counts = edges[filled], counts[filled]
    numbers = np.arange(first, last + 1)[filled]
    total = np.add.reduceat(values, starts)
    high, low = np.maximum.reduceat(values, starts), np.minimum.reduceat(values, starts)
    trimmed = (total - high - low) / np.maximum(counts - 2, 1)
    level = np.where(counts >= 4, trimmed, total / counts)
    return list(zip(numbers.tolist(), level.tolist(), counts.tolist(), strict=True))
