"""What a board says of one sample, as a line of text."""

from __future__ import annotations

from collections.abc import Sequence

from gaugebench.wire.text_line import LineFormat, encode_line

BANNER = b"BOOT practice board v1\r\n"
FIELDS = ("pilot", "p1", "c1", "p2", "c2", "rpm")
LAYOUT = LineFormat(cells=7, values=(1, 2, 3, 4, 5, 6), time=0)
"""`t_ms,pilot,p1,c1,p2,c2,rpm`: transducers in V, speed in rpm."""


def said(time_s: float, row: Sequence[float]) -> tuple[bytes, tuple[float, ...]]:
    """The line for a sample, and its numbers as they are written: volts to 0.1 mV."""
    numbers = (*(round(v, 4) for v in row[:-1]), round(row[-1], 3))
    return encode_line(LAYOUT, numbers, time_s), numbers
