"""Live alarms: the instants at which a channel passes the limit that its kit sets."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from gaugebench.model.arrays import F64
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.quantity import Dimension

REARM_SHARE = 0.02
"""A channel must fall this share of its limit below it before it can alarm again, so that noise at
the limit is one alarm and not a hundred."""


class Alarms:
    """Watches the channels of one session that have an alarm limit."""

    def __init__(self, streams: tuple[StreamSpec, ...]) -> None:
        self._watches = tuple(
            tuple((column, _Watch(c, c.alarm)) for column, c in enumerate(s.channels) if c.alarm)
            for s in streams
        )

    def look(self, stream: int, times: F64, values: F64) -> tuple[Mark, ...]:
        """The alarms in rows of a stream: times (n,), values (n, channels) in the inside unit."""
        return tuple(
            mark
            for column, watch in self._watches[stream]
            for mark in watch.look(times, values[:, column])
        )


class _Watch:
    def __init__(self, channel: Channel, limit: float) -> None:
        self._channel = channel
        self._limit = limit
        self._is_over = False
        self._count = 0

    def look(self, times: F64, values: F64) -> Iterator[Mark]:
        at = 0
        while at < len(values):
            rest = values[at:]
            # A missing value (NaN) compares as False both ways: it neither alarms nor re-arms.
            turned = rest < (1 - REARM_SHARE) * self._limit if self._is_over else rest > self._limit
            if not turned.any():
                return
            at += int(np.argmax(turned))
            self._is_over = not self._is_over
            if self._is_over:
                yield self._mark(float(times[at]), float(values[at]))

    def _mark(self, time_s: float, value: float) -> Mark:
        self._count += 1
        channel = self._channel
        return Mark(
            key=f"alarm/{channel.name}/{self._count}",
            kind=MarkKind.ALARM,
            time_s=time_s,
            standing=Standing.FINAL,
            pump=channel.role.pump if channel.role else None,
            pressure_pa=value if channel.dimension is Dimension.PRESSURE else None,
            note=f"{channel.title} passed its limit",
        )
