"""Pauses in rows that otherwise come evenly."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from gaugebench.model.arrays import F64, Bools
from gaugebench.model.trace import Gap

GAP_STEPS = 2.5
"""A pause longer than this many usual steps is a gap."""
_EVEN_SHARE = 0.9
_FEWEST_STEPS = 8


@dataclass(slots=True)
class GapFinder:
    """Feed it the times of a stream, stretch by stretch. step: the usual one; 0 where uneven."""

    stream: str
    gaps: list[Gap] = field(default_factory=list)
    step: float | None = None
    _last: float | None = None

    def feed(self, times: F64) -> Bools:
        """Which rows come first after a gap, shape (n,)."""
        after = np.zeros(len(times), np.bool_)
        if not len(times):
            return after
        steps = np.diff(times, prepend=times[0] if self._last is None else self._last)
        self._last = float(times[-1])
        if self.step is None:
            self.step = _usual_step(steps[1:])
        if not self.step:
            return after
        for row in np.flatnonzero(steps > GAP_STEPS * self.step):
            after[row] = True
            end, pause = float(times[row]), float(steps[row])
            start = end - pause if row == 0 else float(times[row - 1])
            lost = round(pause / self.step) - 1
            self.gaps.append(Gap(self.stream, start, end, lost, "rows are missing in the file"))
        return after


def _usual_step(steps: F64) -> float:
    if len(steps) < _FEWEST_STEPS:
        return 0.0
    usual = float(np.median(steps))
    even = usual > 0 and np.mean(np.abs(steps - usual) < 0.25 * usual) >= _EVEN_SHARE
    return usual if even else 0.0
