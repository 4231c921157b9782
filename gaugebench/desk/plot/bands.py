"""Lines with several samples to a pixel, as an image: all of a pane's at once. No Qt.

A polyline costs by the pixels it crosses, one after another, up and down; on a trace that is full
of loadings that is most of a frame. Here each column of each line is two changes of one bit, and
one running pass down the image fills all lines together.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from gaugebench.model.arrays import F64

LEAST_PX = 2
"""The least height of a column: a line of two pixels can be seen in the sun."""
MOST = 8
"""Lines that one image of bits holds."""

Bits = NDArray[np.uint8]
Rows = NDArray[np.intp]


def extents(x: F64, y: F64, size: tuple[int, int]) -> tuple[Rows, Rows]:
    """The first row and the row after the last of a line in every column of dots, shape (width,).

    x, y: in dots, each column of samples twice, with its two extremes; NaN in y where the line
    breaks. size: width and height in dots. Where there is nothing both are equal. A column reaches
    to the one before it, so that a jump is not a hole, and as far as the next one begins.
    """
    width, height = size
    filled = np.flatnonzero(np.isfinite(y))
    if not len(filled):
        return np.zeros(width, np.intp), np.zeros(width, np.intp)
    if len(filled) < len(y):
        x, y = x[filled], y[filled]
    left, one, other = x[0::2], y[0::2], y[1::2]
    high, low = np.minimum(one, other), np.maximum(one, other)
    top, bottom, end = high.copy(), low.copy(), left + 1.0
    np.minimum(high[1:], low[:-1], out=top[1:])
    np.maximum(low[1:], high[:-1], out=bottom[1:])
    end[:-1] = left[1:]
    alone = np.flatnonzero(np.diff(filled[0::2]) != 2)  # columns before a hole
    if len(alone):
        top[alone + 1], bottom[alone + 1], end[alone] = high[alone + 1], low[alone + 1], left[alone]
    dot = np.floor(left).astype(np.intp)
    starts = np.flatnonzero(np.diff(dot, prepend=dot[0] - 1))
    if len(starts) < len(dot):
        top, bottom = np.minimum.reduceat(top, starts), np.maximum.reduceat(bottom, starts)
        dot, end = dot[starts], np.append(end[starts[1:] - 1], end[-1])
    until = np.maximum(np.ceil(end), dot + 1)
    first = _whole(top, -LEAST_PX, height)
    last = np.maximum(_whole(bottom, -LEAST_PX, height), first + LEAST_PX)
    dots = np.arange(width)
    at = np.searchsorted(dot, dots, "right") - 1
    is_there = (at >= 0) & (dots < until[at])
    first, last = np.maximum(first, 0)[at], np.clip(last, 0, height)[at]
    return first * is_there, last * is_there


def _whole(rows: F64, least: int, most: int) -> Rows:
    return np.rint(np.minimum(np.maximum(rows, least), most)).astype(np.intp)


class Canvas:
    """Keeps its memory from one frame to the next."""

    def __init__(self) -> None:
        self._bits: Bits = np.empty((0, 0), np.uint8)

    def fill(self, lines: Sequence[tuple[F64, F64]], size: tuple[int, int]) -> Bits:
        """Which of up to `MOST` lines cover each dot, a bit for each: shape (height, width + w).

        lines: x and y of each as `extents` takes them. Rows are as long as an image's must be, a
        multiple of four. What is given back is drawn over by the next call.
        """
        width, height = size
        if self._bits.shape != (height + 1, wide := -(-width // 4) * 4):
            self._bits = np.empty((height + 1, wide), np.uint8)
        bits, dots = self._bits, np.arange(width)
        bits.fill(0)
        for place, (x, y) in enumerate(lines):
            bit = np.uint8(1 << place)
            first, last = extents(x, y, size)
            bits[first, dots] ^= bit  # where both are equal nothing is left
            bits[last, dots] ^= bit
        np.bitwise_xor.accumulate(bits, axis=0, out=bits)
        return bits[:height]


def table(colours: Sequence[int]) -> list[int]:
    """The colour, 0xAARRGGBB, of every pattern of bits: that of the last line in it; 0 for none."""
    found = [0]
    for colour in colours:
        found += [colour] * len(found)
    return found
