"""What a board says of one sample, as a line of text."""

from __future__ import annotations

from collections.abc import Sequence

BANNER = b"BOOT gaugebench practice board v1\r\n"
FIELDS = ("pilot", "p1", "c1", "p2", "c2", "rpm")


def line(t_ms: int, row: Sequence[float]) -> bytes:
    """`t_ms,pilot,p1,c1,p2,c2,rpm`: volts to 0.1 mV, rpm to 1/1000."""
    volts = ",".join(f"{v:.4f}" for v in row[:-1])
    return f"{t_ms},{volts},{row[-1]:.3f}\r\n".encode("ascii")
