"""Rows of one stream on their way into a trace."""

from __future__ import annotations

from dataclasses import dataclass

from gaugebench.model.arrays import F64, U16


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Rows of one stream: times (n,), the others (n, channels); values in the inside unit."""

    stream: int
    times: F64
    raw: F64
    values: F64
    quality: U16
