"""A block: what arrived of one stream, timed and still raw."""

from __future__ import annotations

from dataclasses import dataclass

from gaugebench.model.arrays import F64, U16


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Consecutive rows of one stream.

    stream: which one, as an index into the session's stream specs.
    first: the number of the first row since the stream began, from 0. Rows lost before they could
        be numbered leave no hole here; they show as a gap in `times` and as `Quality.AFTER_GAP`.
    times: shape (n,), s on the session clock, increasing.
    raw: shape (n, channels), what the device said, in each channel's raw unit; NaN where missing.
    quality: shape (n, channels), bits of `Quality`.
    """

    stream: int
    first: int
    times: F64
    raw: F64
    quality: U16

    def __len__(self) -> int:
        return len(self.times)
