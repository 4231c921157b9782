"""Takes from a feed what is new, so that no frame costs more than its new samples. No Qt."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.desk.live.feed import Feed
from gaugebench.model.arrays import F64, U16

OVERLAP_S = 0.25
"""Asked for beyond the time since the last look, against samples that arrive late."""


@dataclass(frozen=True, slots=True, eq=False)
class Fresh:
    """New samples of one stream: times (n,), values and quality (n, channels)."""

    times: F64
    values: F64
    quality: U16


class Reader:
    """One reader of one feed; hands every sample out once, in order."""

    def __init__(self, feed: Feed, look_back_s: float) -> None:
        self._feed = feed
        # The first sample of the stretch asked for is part of it.
        start = float(np.nextafter(feed.now_s() - look_back_s, -np.inf))
        self._last = [start] * len(feed.streams)

    def new(self) -> list[Fresh]:
        """What came since the last call, by stream."""
        now = self._feed.now_s()
        return [self._stream(index, now) for index in range(len(self._last))]

    def _stream(self, index: int, now: float) -> Fresh:
        last = self._last[index]
        found = self._feed.window(index, max(now - last, 0.0) + OVERLAP_S)
        first = int(np.searchsorted(found.times, last, "right"))
        times = found.times[first:]
        if len(times):
            self._last[index] = float(times[-1])
        return Fresh(times, found.values[first:], found.quality[first:])
