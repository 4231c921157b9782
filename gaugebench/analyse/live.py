"""Marks while the samples arrive, with the same segmenter and the same figures as a review."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from gaugebench.analyse.loading import figures_of_loading
from gaugebench.analyse.segmenter import BIN_S, LoadingSpan, Segmenter
from gaugebench.analyse.settings import Settings
from gaugebench.analyse.stall import Stall
from gaugebench.model.arrays import F64, U16
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.model.mark import Mark
from gaugebench.model.role import Port, Role
from gaugebench.model.trace import Series
from gaugebench.quantity import Reference


@dataclass(slots=True)
class _Kept:
    """The samples of one channel that a loading may still need."""

    channel: Channel
    stream: int
    column: int
    times: list[F64] = field(default_factory=list)
    values: list[F64] = field(default_factory=list)
    quality: list[U16] = field(default_factory=list)

    def add(self, times: F64, values: F64, quality: U16) -> None:
        self.times.append(times)
        self.values.append(values)
        self.quality.append(quality)

    def forget(self, before_s: float) -> None:
        drop = 0
        while drop < len(self.times) - 1 and self.times[drop + 1][0] < before_s:
            drop += 1
        del self.times[:drop], self.values[:drop], self.quality[:drop]

    def series(self) -> Series:
        if not self.times:
            empty = np.empty(0)
            return Series(self.channel, empty, empty, np.empty(0, np.uint16))
        return Series(
            self.channel,
            np.concatenate(self.times),
            np.concatenate(self.values),
            np.concatenate(self.quality),
        )


class LiveMarks:
    """Fed block by block; hands back the marks that were set or changed.

    Only channels that play a role and are not absolute or sealed pressures are looked at.
    """

    MAX_WAIT_S = 1.0
    """A stream that lags further than this behind the others is no longer waited for."""

    def __init__(self, streams: tuple[StreamSpec, ...], settings: Settings | None = None) -> None:
        self._settings = settings or Settings()
        self._kept: dict[Role, _Kept] = {}
        for number, stream in enumerate(streams):
            for column, channel in enumerate(stream.channels):
                if channel.role is None or channel.role in self._kept:
                    continue
                if channel.reference in (Reference.ABSOLUTE, Reference.SEALED):
                    continue
                self._kept[channel.role] = _Kept(channel, number, column)
        pumps = [
            role.pump for role in self._kept if role.port is Port.MAIN and role.pump is not None
        ]
        many = len({self._kept[Role.main(p)].stream for p in pumps}) > 1
        self._segmenter = Segmenter(pumps, self.MAX_WAIT_S if many else math.inf)
        self.stall = Stall(BIN_S)
        """Whether the present hold has been held long enough."""
        self._segmenter.on_bin = self.stall.step
        self._marks: dict[str, Mark] = {}

    def feed(self, stream: int, times: F64, values: F64, quality: U16) -> tuple[Mark, ...]:
        """Take rows of a stream: times (n,), s; values (n, channels) in the unit used inside; and
        quality (n, channels). The marks that were thereby set or changed."""
        if len(times) == 0:
            return ()
        for role, kept in self._kept.items():
            if kept.stream != stream:
                continue
            column = np.ascontiguousarray(values[:, kept.column])
            kept.add(times.copy(), column, quality[:, kept.column].copy())
            if role.port is Port.MAIN and role.pump is not None:
                self._segmenter.feed(role.pump, times, column)
        marks = self._finals(self._segmenter.advance())
        for kept in self._kept.values():
            kept.forget(self._segmenter.needed_from_s)
        return marks

    def finish(self) -> tuple[Mark, ...]:
        """No more samples come: the marks that were thereby set or changed."""
        return self._finals(self._segmenter.finish())

    def _finals(self, ended: tuple[LoadingSpan, ...]) -> tuple[Mark, ...]:
        changed: list[Mark] = []
        for span in ended:
            series = {role: kept.series() for role, kept in self._kept.items()}
            _, marks = figures_of_loading(series, span, self._settings)
            changed += marks
        self._marks.update((m.key, m) for m in changed)
        return tuple(changed)

    @property
    def marks(self) -> tuple[Mark, ...]:
        """All marks as they stand, in order of time."""
        return tuple(sorted((replace(m) for m in self._marks.values()), key=lambda m: m.time_s))
