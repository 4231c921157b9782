"""The same for a live window: bins that fill as samples come, and old ones let go. No Qt."""

from __future__ import annotations

import numpy as np

from gaugebench.desk.plot.gaps import breaks
from gaugebench.desk.plot.pyramid import Polyline, zigzag
from gaugebench.model.arrays import F64, U16


class Rolling:
    """Minimum and maximum of one stream in bins of `per_bin` samples.

    Bins are counted from the first sample given, so that they do not change while the picture
    moves. A gap ends a bin early. Work for a frame grows with the samples that are new and the
    bins that are drawn, not with the window.
    """

    def __init__(self, channels: int, per_bin: int, most_bins: int, step_s: float) -> None:
        self.per_bin = max(per_bin, 1)
        self._step_s = step_s
        self._room = 2 * max(most_bins, 16)
        self._times = np.empty(self._room)
        self._low = np.empty((self._room, channels))
        self._high = np.empty((self._room, channels))
        self._used = 0
        self._open = 0  # samples in the last bin; 0 where it is full
        self.last_s = float("-inf")

    def add(self, times: F64, values: F64, quality: U16) -> None:
        """Take in samples newer than all before: times (n,), values and quality (n, channels)."""
        if not len(times):
            return
        seam = np.concatenate(([self.last_s], times)) if self._used else times
        marks = np.concatenate((quality[:1] & 0, quality)) if self._used else quality
        cuts = breaks(seam, marks, self._step_s) - (1 if self._used else 0)
        previous = 0
        for cut in [*cuts, len(times)]:
            if cut > previous:
                self._run(times[previous:cut], values[previous:cut])
            if cut < len(times):
                self._close_with_gap(times[cut - 1] if cut else self.last_s)
            previous = int(cut)
        self.last_s = float(times[-1])

    def line(self, column: int, start_s: float) -> Polyline:
        """One channel from `start_s` on, ready to be drawn; copies."""
        first = max(int(np.searchsorted(self._times[: self._used], start_s)) - 1, 0)
        part = slice(first, self._used)
        times, low = self._times[part], self._low[part, column]
        if self.per_bin == 1:
            return Polyline(times.copy(), low.copy())
        y = zigzag(low, self._high[part, column])
        return Polyline(np.repeat(times, 2), y, is_columns=True)

    def _close_with_gap(self, at_s: float) -> None:
        self._append(np.array([at_s]), *(2 * (np.full((1, self._low.shape[1]), np.nan),)))
        self._open = 0

    def _run(self, times: F64, values: F64) -> None:
        taken = 0
        if self._open:
            taken = min(self.per_bin - self._open, len(times))
            last = self._used - 1
            np.fmin(self._low[last], np.fmin.reduce(values[:taken]), out=self._low[last])
            np.fmax(self._high[last], np.fmax.reduce(values[:taken]), out=self._high[last])
            self._open = (self._open + taken) % self.per_bin
        rest = len(times) - taken
        if not rest:
            return
        edges = np.arange(taken, len(times), self.per_bin)
        self._append(times[edges], np.fmin.reduceat(values, edges), np.fmax.reduceat(values, edges))
        self._open = rest % self.per_bin

    def _append(self, times: F64, low: F64, high: F64) -> None:
        keep = self._room // 2
        if len(times) > keep:
            times, low, high = times[-keep:], low[-keep:], high[-keep:]
        if self._used + len(times) > self._room:
            kept = slice(self._used - min(keep, self._used), self._used)
            count = kept.stop - kept.start
            for store in (self._times, self._low, self._high):
                store[:count] = store[kept].copy()
            self._used = count
        part = slice(self._used, self._used + len(times))
        self._times[part], self._low[part], self._high[part] = times, low, high
        self._used += len(times)
