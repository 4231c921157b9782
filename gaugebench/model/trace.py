"""A trace: a set of series, each with its own times, and what belongs to them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

import numpy as np

from gaugebench.model.arrays import F64, U16
from gaugebench.model.channel import Channel
from gaugebench.model.mark import Mark
from gaugebench.model.role import Port, Role


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """The samples of one channel.

    times: shape (n,), s on the trace's clock, non-decreasing; series of one stream share the array.
    values: shape (n,), in the unit of `channel.dimension`; NaN where there is no value.
    quality: shape (n,), bits of `Quality`.
    raw: shape (n,), what the device said, in `channel.raw_unit`, or None where it was not kept.
    """

    channel: Channel
    times: F64
    values: F64
    quality: U16
    stream: str = "main"
    raw: F64 | None = None

    def __len__(self) -> int:
        return len(self.times)

    def between(self, start_s: float, end_s: float) -> Series:
        """The samples with start_s <= time < end_s, as views of the same arrays."""
        low, high = np.searchsorted(self.times, (start_s, end_s))
        part = slice(int(low), int(high))
        return replace(
            self,
            times=self.times[part],
            values=self.values[part],
            quality=self.quality[part],
            raw=None if self.raw is None else self.raw[part],
        )

    @property
    def interval_s(self) -> float:
        """The usual time between two samples, s; NaN where there are fewer than two."""
        return float(np.median(np.diff(self.times))) if len(self.times) > 1 else float("nan")


@dataclass(frozen=True, slots=True)
class Particulars:
    """What a trace is of. Every field may be empty."""

    machine: str = ""
    serial: str = ""
    hour_meter_h: float | None = None
    site: str = ""
    technician: str = ""
    customer: str = ""
    job: str = ""
    notes: str = ""


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch in which samples of a stream were lost; `lost` is None where uncounted."""

    stream: str
    start_s: float
    end_s: float
    lost: int | None = None
    why: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """All that a recording or an imported file holds."""

    series: tuple[Series, ...]
    started: datetime | None = None
    origin: str = ""
    simulated: bool = False
    particulars: Particulars = field(default_factory=Particulars)
    marks: tuple[Mark, ...] = ()
    gaps: tuple[Gap, ...] = ()
    rejects: Mapping[str, int] = field(default_factory=dict)
    """Lines or frames that could not be read, counted by kind."""
    remarks: tuple[str, ...] = ()
    """What was noticed when the trace was read or imported, each a sentence."""
    kit: Mapping[str, Any] = field(default_factory=dict)
    """The kit it was recorded with, as `model.kit.Kit` dumps it; empty for an import."""
    recipe: Mapping[str, Any] = field(default_factory=dict)
    """How an imported file was read, so that the next of its kind can be read alike."""

    def find(self, role: Role) -> Series | None:
        """The series that plays the role, or None."""
        return next((s for s in self.series if s.channel.role == role), None)

    @property
    def pumps(self) -> tuple[int, ...]:
        """The numbers of the pumps whose main pressure is in the trace, in order."""
        found = {
            s.channel.role.pump
            for s in self.series
            if s.channel.role is not None and s.channel.role.port is Port.MAIN
        }
        return tuple(sorted(n for n in found if n is not None))

    @property
    def span_s(self) -> tuple[float, float]:
        """First and last instant, s; (0, 0) for a trace without samples."""
        filled = [s for s in self.series if len(s)]
        if not filled:
            return 0.0, 0.0
        return min(float(s.times[0]) for s in filled), max(float(s.times[-1]) for s in filled)
