"""The ring buffer between a reader and whoever looks: one writer, many readers, no lock.

A reader copies first and asks afterwards whether the writer has meanwhile come round to what was
copied; those rows are dropped from the copy. So the writer never waits, and a reader never sees a
row that was half written.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.model.arrays import F64, U16


@dataclass(frozen=True, slots=True, eq=False)
class Samples:
    """Copied rows. times: (n,), s. values: (n, channels). quality: (n, channels).

    first: the number of the first row, counted from the ring's beginning.
    """

    times: F64
    values: F64
    quality: U16
    first: int = 0

    def __len__(self) -> int:
        return len(self.times)


class Ring:
    """The newest `capacity` rows of `channels` values each, in memory that is taken once."""

    def __init__(self, channels: int, capacity: int) -> None:
        if channels < 1 or capacity < 1:
            raise ValueError("a ring needs at least one channel and one row")
        self.capacity = capacity
        self._times: F64 = np.zeros(capacity)
        self._values: F64 = np.zeros((capacity, channels))
        self._quality: U16 = np.zeros((capacity, channels), dtype=np.uint16)
        # Rows below _written are whole. Rows from _claimed - capacity up may be read; the writer
        # moves _claimed before it touches memory and _written after.
        self._claimed = 0
        self._written = 0

    @property
    def written(self) -> int:
        """How many rows were ever written."""
        return self._written

    def write(self, times: F64, values: F64, quality: U16) -> None:
        """Add rows; called by one thread only. Of more rows than fit, the newest stay."""
        total = len(times)
        skip = max(0, total - self.capacity)
        start = self._written + skip
        self._claimed = self._written + total
        for rows, place in _pieces(start, self._written + total, self.capacity):
            part = slice(rows.start - start + skip, rows.stop - start + skip)
            self._times[place] = times[part]
            self._values[place] = values[part]
            self._quality[place] = quality[part]
        self._written = self._claimed

    def since(self, index: int) -> Samples:
        """Copies of the rows numbered `index` and later that are still there."""
        end = self._written
        start = min(max(index, end - self.capacity, 0), end)
        times = np.empty(end - start)
        values = np.empty((end - start, self._values.shape[1]))
        quality = np.empty((end - start, self._values.shape[1]), dtype=np.uint16)
        for rows, place in _pieces(start, end, self.capacity):
            part = slice(rows.start - start, rows.stop - start)
            times[part] = self._times[place]
            values[part] = self._values[place]
            quality[part] = self._quality[place]
        spoilt = min(max(self._claimed - self.capacity - start, 0), len(times))
        return Samples(times[spoilt:], values[spoilt:], quality[spoilt:], start + spoilt)

    def last(self, seconds: float) -> Samples:
        """Copies of the rows of the last `seconds` before the newest row."""
        while True:
            end = self._written
            if end == 0:
                return self.since(0)
            newest = float(self._times[(end - 1) % self.capacity])
            low = self._first_at(newest - seconds, max(0, end - self.capacity), end)
            if self._claimed < end + self.capacity:  # the search did not meet overwritten rows
                return self.since(low)

    def _first_at(self, time_s: float, low: int, high: int) -> int:
        while low < high:
            middle = (low + high) // 2
            if self._times[middle % self.capacity] < time_s:
                low = middle + 1
            else:
                high = middle
        return low


def _pieces(start: int, end: int, capacity: int) -> list[tuple[slice, slice]]:
    """Row numbers [start, end) and their places in memory, in one or two pieces."""
    if start >= end:
        return []
    place = start % capacity
    head = min(end - start, capacity - place)
    pieces = [(slice(start, start + head), slice(place, place + head))]
    if head < end - start:
        pieces.append((slice(start + head, end), slice(0, end - start - head)))
    return pieces
