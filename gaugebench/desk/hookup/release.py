"""Whether every test port is near zero, and what that does not prove. No Qt.

Near zero counts only from a channel that is known to be alive: it was seen to read a pressure since
the kit was opened, its samples still come and still move, and nothing is known against them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from gaugebench.desk.live.feed import Window
from gaugebench.desk.names import channel_title
from gaugebench.desk.shown import Shown
from gaugebench.desk.words import tr
from gaugebench.model.arrays import F64, U16
from gaugebench.model.channel import Channel
from gaugebench.model.quality import DOUBTFUL, UNUSABLE, Quality
from gaugebench.quantity import Dimension, Reference

LEVEL_S = 3.0
"""The level is the mean of so long."""
FROZEN_S = 15.0
"""A channel that repeats one value for so long cannot be told from a frozen one."""
SILENT_S = 1.5
PIERCES_PA = 7e5
"""Oil at about this pressure pierces skin (common practice, no source)."""
USUAL_ACCURACY_PCT = 1.0
"""Taken where a transducer's accuracy is not stated."""
LEAST_LIMIT_PA = 0.5e5
SEEN_LIMITS = 4.0
"""A channel is known to work once it has read so many times what counts as zero."""
_BAD = np.uint16(UNUSABLE | (DOUBTFUL & ~Quality.SETTLING))
_LEAST_COUNT = 3


class PortState(StrEnum):
    """What a test port's channel says of its pressure."""

    NEAR_ZERO = "near zero"
    HOLDS = "pressure"
    BELOW = "below zero"
    SILENT = "no samples"
    FAULT = "faulty"
    FROZEN = "frozen"
    UNPROVEN = "never seen to work"
    BLIND = "cannot see it"


@dataclass(frozen=True, slots=True)
class PortRelease:
    """One channel. counts: whether it may be taken for released."""

    state: PortState
    words: str

    @property
    def counts(self) -> bool:
        """Whether its zero counts."""
        return self.state is PortState.NEAR_ZERO


@dataclass(frozen=True, slots=True)
class Release:
    """All test ports, in the order of the table; None for a channel that is no pressure."""

    ports: tuple[PortRelease | None, ...]
    words: str
    is_released: bool


def limit_of(channel: Channel) -> float:
    """What counts as zero on a channel, Pa: what its accuracy cannot tell from zero."""
    low, high = channel.chain.range_low or 0.0, channel.chain.range_high
    if high is None:
        return math.inf
    share = channel.transducer.accuracy_pct_fs or USUAL_ACCURACY_PCT
    return max(LEAST_LIMIT_PA, share / 100.0 * (high - low))


def look(
    channel: Channel, window: Window | None, column: int, now_s: float, seen_pa: float, shown: Shown
) -> PortRelease:
    """What one channel says. window: its stream's last `FROZEN_S`, or None where it has none.

    seen_pa: the highest pressure it has read since the kit was opened.
    """
    limit = limit_of(channel)
    said = {
        "port": channel_title(channel),
        "limit": shown.text(limit, Dimension.PRESSURE),
        "seen": shown.text(seen_pa, Dimension.PRESSURE),
    }
    if window is None or not len(window.times) or now_s - float(window.times[-1]) > SILENT_S:
        return PortRelease(PortState.SILENT, tr("{port}: no samples come.", **said))
    recent = window.times > window.times[-1] - LEVEL_S
    values: F64 = window.values[:, column]
    fault = _fault(channel, values[recent], window.quality[:, column][recent], limit)
    if fault:
        return PortRelease(PortState.FAULT, fault)
    level = float(np.mean(values[recent]))
    said["level"] = shown.text(level, Dimension.PRESSURE)
    if float(np.max(np.abs(values[recent]))) > limit:
        if level < 0:
            words = tr("{port} reads {level}, below zero: zero or transducer is off.", **said)
            return PortRelease(PortState.BELOW, words)
        words = tr("{port} still holds {level}.", **said)
        return PortRelease(PortState.HOLDS, words)
    if limit > PIERCES_PA:
        words = tr(
            "{port} cannot see below {limit}, which pierces skin: it proves nothing.", **said
        )
        return PortRelease(PortState.BLIND, words)
    if _is_frozen(window.times, values):
        words = tr("{port} does not move at all, as a frozen channel does: it does not count.",
                   **said)  # fmt: skip
        return PortRelease(PortState.FROZEN, words)
    if seen_pa < SEEN_LIMITS * limit:
        words = tr("{port} was not seen to read a pressure since it was opened: its zero proves"
                   " nothing.", **said)  # fmt: skip
        return PortRelease(PortState.UNPROVEN, words)
    words = tr("near zero: {level} (it cannot see below {limit}; it has read {seen})", **said)
    return PortRelease(PortState.NEAR_ZERO, words)


def conclude(ports: Sequence[PortRelease | None]) -> Release:
    """What all test ports say together."""
    pressures = [p for p in ports if p is not None]
    short = [p for p in pressures if not p.counts]
    if not pressures:
        words = tr("No pressure is read: this kit proves nothing.")
    elif short:
        words = tr("Not released: {count} of {all} test ports do not count as zero. Open nothing.",
                   count=len(short), all=len(pressures))  # fmt: skip
    else:
        words = tr(
            "All {all} test ports are near zero. This proves these ports only: accumulators and"
            " what is behind check, load-holding and counterbalance valves stay unseen.",
            all=len(pressures),
        )
    return Release(tuple(ports), words, bool(pressures) and not short)


class Seen:
    """The highest that each channel has read since the kit was opened, Pa."""

    def __init__(self, count: int) -> None:
        self._most = [-math.inf] * count

    def take(self, channel: int, values: F64, quality: U16) -> None:
        """Take in samples of a channel, in any order; shape (n,). Doubtful ones are left out.

        A mean of five is taken, so that a spike of one sample proves nothing.
        """
        good = values[(quality & _BAD) == 0]
        good = good[np.isfinite(good)]
        if len(good) >= 5:
            level = float(np.max(good[: len(good) // 5 * 5].reshape(-1, 5).mean(axis=1)))
            self._most[channel] = max(self._most[channel], level)

    def of(self, channel: int) -> float:
        """What a channel has read at most; minus infinity where it read nothing."""
        return self._most[channel]


def _fault(channel: Channel, values: F64, quality: U16, limit: float) -> str:
    """Why a channel is not to be believed, in words; empty where nothing is known against it."""
    said = {"port": channel_title(channel)}
    if not math.isfinite(limit):
        return tr("{port}: its range is not stated, so its zero means nothing.", **said)
    if channel.reference is Reference.ABSOLUTE:
        return tr("{port} reads absolute pressure; only a gauge pressure shows zero.", **said)
    if len(values) < _LEAST_COUNT or not np.all(np.isfinite(values)):
        return tr("{port}: samples are missing, as with a loose wire. It does not count.", **said)
    if np.any(quality & _BAD):
        return tr("{port}: its signal is out of its good band. It does not count.", **said)
    return ""


def _is_frozen(times: F64, values: F64) -> bool:
    """Whether the last values are all the same, for as long as there are samples to tell."""
    recent = values[times > times[-1] - FROZEN_S]
    return bool(np.all(recent == recent[-1]))
