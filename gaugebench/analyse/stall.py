"""The stall signal: whether the present hold has been held long enough to be read."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np


@dataclass(slots=True)
class Stall:
    """Fed with the segmenter's bins of one or more pumps.

    held_long_enough: every pump that is driven up has changed by less than `SLOPE_PER_S` of its
    level a second for `CALM_S`. The slope is a straight-line fit over the last half second, or
    longer where noise would hide it.
    """

    SLOPE_PER_S: ClassVar[float] = 0.003
    CALM_S: ClassVar[float] = 0.5

    bin_s: float
    _levels: dict[int, deque[float]] = field(default_factory=dict)
    _calm: dict[int, int] = field(default_factory=dict)

    def step(self, pump: int, level: float, *, is_up: bool) -> None:
        """Take a bin of a pump (level in Pa) and whether the pump is driven up."""
        if not is_up:
            self._levels.pop(pump, None)
            self._calm.pop(pump, None)
            return
        levels = self._levels.setdefault(pump, deque(maxlen=round(2.0 / self.bin_s)))
        levels.append(level)
        slope = self._slope(levels)
        calm = slope is not None and abs(slope) < self.SLOPE_PER_S * abs(level)
        self._calm[pump] = self._calm.get(pump, 0) + 1 if calm else 0

    @property
    def held_long_enough(self) -> bool:
        """Whether the hold can be read now; False where no pump is driven up."""
        # A calm fit already spans half a second, so one is enough.
        return bool(self._levels) and all(self._calm.get(pump, 0) >= 1 for pump in self._levels)

    @property
    def held_s(self) -> float:
        """For how long the pressure has stood, s: the oil may have gone over the relief that long.

        The calm fit's own half second counts; 0 where the pressure does not stand.
        """
        if not self.held_long_enough:
            return 0.0
        bins = min(self._calm[pump] for pump in self._levels)
        return self.CALM_S + (bins - 1) * self.bin_s

    def _slope(self, levels: deque[float]) -> float | None:
        """Slope (Pa/s) over the shortest stretch that shows it clearly enough, or None."""
        shortest = round(self.CALM_S / self.bin_s)
        values = np.array(levels)
        for count in range(shortest, len(values) + 1, 5):
            tail = values[-count:]
            x = (np.arange(count) - (count - 1) / 2) * self.bin_s
            spread = float(np.sum(x * x))
            slope = float(np.sum(x * tail)) / spread
            rest = tail - np.mean(tail) - slope * x
            sd = float(np.sqrt(np.sum(rest * rest) / (count - 2) / spread))
            if sd < 0.5 * self.SLOPE_PER_S * abs(float(tail[-1])):
                return slope
        return None
