"""The samples of one channel that live marks may still need."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from gaugebench.model.arrays import F64, U16
from gaugebench.model.channel import Channel
from gaugebench.model.trace import Series


@dataclass(slots=True)
class Kept:
    """Blocks of one channel, oldest first."""

    channel: Channel
    stream: int
    stream_name: str
    column: int
    times: list[F64] = field(default_factory=list)
    values: list[F64] = field(default_factory=list)
    quality: list[U16] = field(default_factory=list)

    def add(self, times: F64, values: F64, quality: U16) -> None:
        """Take a block; the arrays are kept, not copied."""
        self.times.append(times)
        self.values.append(values)
        self.quality.append(quality)

    def forget(self, before_s: float) -> None:
        """Drop the blocks that lie wholly before an instant."""
        drop = 0
        while drop < len(self.times) and self.times[drop][-1] < before_s:
            drop += 1
        del self.times[:drop], self.values[:drop], self.quality[:drop]

    def series(self) -> Series:
        """What is kept, as a series."""
        if not self.times:
            empty = np.empty(0)
            return Series(self.channel, empty, empty, np.empty(0, np.uint16), self.stream_name)
        return Series(
            self.channel,
            np.concatenate(self.times),
            np.concatenate(self.values),
            np.concatenate(self.quality),
            self.stream_name,
        )
