"""How far apart the rows of a stream usually are, and where some are missing between them."""

from __future__ import annotations

from collections import deque

import numpy as np

from gaugebench.model.arrays import F64

LEARN_ROWS = 8
MEMORY_ROWS = 1000
RECENT_ROWS = 32
UNEVEN_SHARE = 0.05
"""A clock's tick is allowed for where this share of steps is long by one tick."""


class Pace:
    """rate_hz: nominal, where it is known. step_s: the finest step of the device's clock."""

    def __init__(self, rate_hz: float | None, step_s: float) -> None:
        self._nominal_s = 1 / rate_hz if rate_hz else None
        self._step_s = step_s
        self._rows = 0.0
        self._span_s = 0.0
        self._uneven = 0.0
        self._first: list[float] = []
        self._recent: deque[float] = deque(maxlen=RECENT_ROWS)

    @property
    def interval_s(self) -> float | None:
        """The usual time between two rows, observed or else as stated; None: neither is known."""
        if self._rows >= LEARN_ROWS and self._span_s > 0:
            return self._span_s / self._rows
        return self._nominal_s

    def forget(self) -> None:
        """Start anew: the device restarted or was changed."""
        self._rows = self._span_s = self._uneven = 0.0
        self._first.clear()
        self._recent.clear()

    def count(self, rows: int, span_s: float) -> None:
        """Take note that so many rows took so long."""
        self._rows += rows
        self._span_s += span_s
        if self._rows > MEMORY_ROWS:
            keep = MEMORY_ROWS / self._rows
            self._rows *= keep
            self._span_s *= keep
            self._uneven *= keep

    def gaps(self, steps: F64) -> list[tuple[int, int]]:
        """(row, rows missing before it) for each gap; learns from the other steps.

        steps: shape (n,), device time from the row before to each row, s; NaN for the very first.
        """
        known = np.isfinite(steps)
        if self._rows < LEARN_ROWS or self._span_s <= 0:  # a stated rate may be wrong
            return self._learn_first(steps[known])
        self._recent.extend(steps[known][-RECENT_ROWS:].tolist())
        usual = self._span_s / self._rows
        if self._has_changed(usual):
            recent = np.array(self._recent)
            self.forget()
            return self._learn_first(recent)
        long = known & (steps > 1.5 * usual)
        slack = self._step_s if self._uneven > UNEVEN_SHARE * max(self._rows, 1.0) else 0.0
        missing = long & (steps > 1.5 * usual + slack)
        one_tick = long & (steps <= usual + 1.01 * self._step_s)
        self._uneven += float(np.count_nonzero(one_tick))
        normal = steps[known & ~missing]
        if len(normal):
            self.count(len(normal), float(normal.sum()))
        return [
            (int(row), max(1, round(float(steps[row]) / usual) - 1))
            for row in np.flatnonzero(missing)
        ]

    def _has_changed(self, usual: float) -> bool:
        """Whether the device has become slower or faster: so many gaps alike are no gaps."""
        if len(self._recent) < RECENT_ROWS:
            return False
        now = float(np.median(self._recent))
        is_faster = usual > 2 * self._step_s and now < usual / 1.5 - self._step_s
        return now > 1.5 * usual + self._step_s or is_faster

    def _learn_first(self, steps: F64) -> list[tuple[int, int]]:
        self._first.extend(steps.tolist())
        if len(self._first) < LEARN_ROWS:
            return []
        first, self._first = np.array(self._first), []
        # Gaps and ties are left out: a step is usual up to three times the median and one tick.
        usual = first[first <= 3 * float(np.median(first)) + self._step_s]
        self.count(len(usual), float(usual.sum()))
        if self._rows < LEARN_ROWS:  # some were gaps: what is left still counts as enough
            self._span_s *= LEARN_ROWS / self._rows
            self._rows = LEARN_ROWS
        mean = float(usual.mean())
        self._uneven = float(np.count_nonzero(usual > 1.5 * mean))
        return []
