"""What each readout says: value, extremes, trend, and its state in words. No Qt."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from gaugebench.desk.live.reader import Fresh
from gaugebench.model.arrays import F64, U16
from gaugebench.model.channel import Channel
from gaugebench.model.quality import UNUSABLE, Quality

HELD_S = 0.25
"""A readout shows the mean of this much, so that its digits can be read."""
TREND_S = 1.0
STUCK_S = 3.0
SILENT_S = 1.0
"""A channel without a sample for this long says so."""
_MOVED = 0.02
"""Another channel of the stream must move by this share of its range before one counts as stuck."""


class Trend(StrEnum):
    """Where a value is going."""

    RISING = "rising"
    FALLING = "falling"
    STEADY = "steady"
    UNKNOWN = ""


class State(StrEnum):
    """What is wrong with a channel, in words; `GOOD` says nothing."""

    GOOD = ""
    WAITING = "no samples yet"
    SILENT = "no new samples"
    WIRE_OFF = "wire off"
    MISSING = "no value"
    OVER_RANGE = "over range"
    UNDER_RANGE = "under range"
    CLIPPED = "clipped"
    SETTLING = "settling"
    SUSPECT = "signal suspect"
    STUCK = "stuck?"


_FLAGS = (
    (Quality.WIRE_OFF, State.WIRE_OFF),
    (Quality.SUPPLY, State.MISSING),
    (Quality.MISSING, State.MISSING),
    (Quality.CLIPPED, State.CLIPPED),
    (Quality.OVER_RANGE, State.OVER_RANGE),
    (Quality.UNDER_RANGE, State.UNDER_RANGE),
    (Quality.SETTLING, State.SETTLING),
    (Quality.SUSPECT, State.SUSPECT),
)


@dataclass(slots=True)
class Reading:
    """One channel now. Values in the inside unit, NaN where there is none."""

    channel: Channel
    value: float = math.nan
    least: float = math.nan
    greatest: float = math.nan
    trend: Trend = Trend.UNKNOWN
    state: State = State.WAITING


@dataclass(slots=True)
class _Tail:
    """The last seconds of one stream, as they came."""

    times: F64
    values: F64
    quality: U16
    first_column: int
    seen: bool = False


class Readings:
    """The readings of all channels, in the order of streams and their channels."""

    def __init__(self, streams: list[list[Channel]]) -> None:
        self.readings = [Reading(channel) for stream in streams for channel in stream]
        self._tails: list[_Tail] = []
        column = 0
        for stream in streams:
            count = len(stream)
            self._tails.append(
                _Tail(np.empty(0), np.empty((0, count)), np.empty((0, count), np.uint16), column)
            )
            column += count

    def take(self, fresh: list[Fresh], now_s: float) -> None:
        """Take in new samples and say anew how every channel stands."""
        for tail, new in zip(self._tails, fresh, strict=True):
            if len(new.times):
                self._append(tail, new)
            self._say(tail, now_s)

    def reset_extremes(self) -> None:
        """Forget the least and greatest values seen."""
        for reading in self.readings:
            reading.least = reading.greatest = math.nan

    def _append(self, tail: _Tail, new: Fresh) -> None:
        tail.seen = True
        keep = int(np.searchsorted(tail.times, new.times[-1] - STUCK_S - 0.5))
        tail.times = np.concatenate((tail.times[keep:], new.times))
        tail.values = np.concatenate((tail.values[keep:], new.values))
        tail.quality = np.concatenate((tail.quality[keep:], new.quality))
        low, high = np.fmin.reduce(new.values), np.fmax.reduce(new.values)
        for column in range(new.values.shape[1]):
            reading = self.readings[tail.first_column + column]
            reading.least = float(np.fmin(reading.least, low[column]))
            reading.greatest = float(np.fmax(reading.greatest, high[column]))

    def _say(self, tail: _Tail, now_s: float) -> None:
        count = tail.values.shape[1]
        readings = self.readings[tail.first_column : tail.first_column + count]
        if not tail.seen:
            return
        silent = now_s - tail.times[-1] > SILENT_S
        recent = slice(int(np.searchsorted(tail.times, tail.times[-1] - HELD_S)), None)
        moved = self._moves(tail)
        for column, reading in enumerate(readings):
            if silent:
                reading.value, reading.trend, reading.state = math.nan, Trend.UNKNOWN, State.SILENT
                continue
            part = tail.values[recent, column]
            good = part[np.isfinite(part)]
            is_dead = (int(tail.quality[-1, column]) & UNUSABLE) != 0
            reading.value = float(good.mean()) if len(good) and not is_dead else math.nan
            reading.trend = self._trend(tail, column) if not is_dead else Trend.UNKNOWN
            reading.state = self._state(tail, column, recent, moved)

    def _moves(self, tail: _Tail) -> list[bool]:
        """Which channels moved by a fair share of what they can show."""
        moves = []
        for column in range(tail.values.shape[1]):
            reading = self.readings[tail.first_column + column]
            chain = reading.channel.chain
            span = reading.greatest - reading.least
            if chain.range_low is not None and chain.range_high is not None:
                span = chain.range_high - chain.range_low
            part = tail.values[:, column]
            part = part[np.isfinite(part)]
            moves.append(bool(len(part) and span > 0 and np.ptp(part) > _MOVED * span))
        return moves

    def _state(self, tail: _Tail, column: int, recent: slice, moved: list[bool]) -> State:
        bits = int(np.bitwise_or.reduce(tail.quality[recent, column]))
        last = int(tail.quality[-1, column])
        for flag, state in _FLAGS:
            # A value is there again as soon as one came; the other states are held long enough
            # to be read.
            if (last if flag & UNUSABLE else bits) & flag:
                return state
        values = tail.values[:, column]
        long_enough = tail.times[-1] - tail.times[0] >= STUCK_S
        others = any(m for i, m in enumerate(moved) if i != column)
        if long_enough and others and len(values) > 20 and np.ptp(values) == 0.0:
            return State.STUCK
        return State.GOOD

    def _trend(self, tail: _Tail, column: int) -> Trend:
        end = tail.times[-1]
        middle = int(np.searchsorted(tail.times, end - TREND_S / 2))
        first = int(np.searchsorted(tail.times, end - TREND_S))
        before, after = tail.values[first:middle, column], tail.values[middle:, column]
        before, after = before[np.isfinite(before)], after[np.isfinite(after)]
        if len(before) < 3 or len(after) < 3:
            return Trend.UNKNOWN
        change = float(after.mean() - before.mean())
        # Ripple and noise are no trend: the change must stand out of their scatter, and be more
        # than a needle's width.
        scatter = float(before.std() + after.std()) / 2
        least = max(scatter, 0.003 * abs(float(after.mean())), 1e-9)
        if change > least:
            return Trend.RISING
        return Trend.FALLING if change < -least else Trend.STEADY
