"""Value and noise of every channel over the last seconds, and the zero taken from them. No Qt."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from gaugebench.desk.live.feed import Feed
from gaugebench.desk.shown import Shown
from gaugebench.desk.words import tr
from gaugebench.model.channel import Channel
from gaugebench.quantity import Dimension

REST_S = 3.0
ZERO_SHARE = 0.02
"""An offset of more than this share of the range is no zero error but a fault or a pressure."""


@dataclass(frozen=True, slots=True)
class Rest:
    """One channel over the last seconds, inside units. noise: standard deviation."""

    mean: float = math.nan
    noise: float = math.nan
    count: int = 0


def at_rest(feed: Feed, seconds: float = REST_S) -> list[Rest]:
    """Every channel in the order of streams and their channels."""
    found: list[Rest] = []
    for index, stream in enumerate(feed.streams):
        window = feed.window(index, seconds)
        for column in range(len(stream.channels)):
            values = window.values[:, column] if len(window.times) else np.empty(0)
            good = values[np.isfinite(values)]
            found.append(
                Rest(float(good.mean()), float(good.std()), len(good)) if len(good) else Rest()
            )
    return found


def zero_of(channel: Channel, rest: Rest, shown: Shown) -> tuple[float | None, str]:
    """The new zero (Pa, all that is taken off) and a sentence; None where none can be taken."""
    said = {"value": shown.text(rest.mean, Dimension.PRESSURE)}
    if channel.dimension is not Dimension.PRESSURE:
        return None, tr("only a pressure has a zero")
    if rest.count < 10 or math.isnan(rest.mean):
        return None, tr("no zero: too few samples")
    low, high = channel.chain.range_low, channel.chain.range_high
    if low is None or high is None:
        return None, tr("no zero: state the transducer's range first")
    if abs(rest.mean) > ZERO_SHARE * (high - low):
        return None, tr("no zero: {value} is too far from zero. Is the line released?", **said)
    return channel.chain.zero + rest.mean, tr("zero taken: {value} off", **said)


def zero_record(rest: Rest, shown: Shown, now: datetime) -> str:
    """How a zero was taken, kept in the kit."""
    noise = shown.text(rest.noise, Dimension.PRESSURE, 2)
    return f"{now:%Y-%m-%d %H:%M}, {rest.count} samples, noise {noise}"
