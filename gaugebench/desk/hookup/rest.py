"""Value and noise of every channel over the last seconds, and the zero taken from them. No Qt."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from gaugebench.desk.live.feed import Feed
from gaugebench.desk.shown import Shown
from gaugebench.desk.words import tr
from gaugebench.model.arrays import F64
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.quantity import Dimension

if TYPE_CHECKING:
    from gaugebench.model.kit import Kit

REST_S = 3.0
ZERO_SHARE = 0.02
"""An offset of more than this share of the range is no zero error but a fault or a pressure."""
_LEAST_COUNT = 10
_BATCHES = 16


@dataclass(frozen=True, slots=True)
class Rest:
    """One channel over the last seconds, inside units.

    noise: standard deviation. spread: half-width of the mean's own k = 2 interval, from the
    scatter of the means of sixteen stretches, since samples of one instant depend on each other.
    """

    mean: float = math.nan
    noise: float = math.nan
    count: int = 0
    spread: float = math.nan


@dataclass(frozen=True, slots=True)
class Spot:
    """Where in a feed a channel of the kit is delivered."""

    stream: int
    column: int


def spots(kit: Kit, streams: tuple[StreamSpec, ...]) -> list[Spot | None]:
    """Where each channel of a kit is delivered, in the kit's order; None where it is not.

    A source with several streams hands its channels out in another order than the kit's.
    """
    found: list[Spot | None] = []
    for source in kit.source:
        own = [
            (n, s)
            for n, s in enumerate(streams)
            if s.name == source.name or s.name.startswith(f"{source.name}/")
        ]
        for entry in source.channel:
            name = entry.name or entry.input
            places = [
                Spot(n, column)
                for n, stream in own
                for column, channel in enumerate(stream.channels)
                if channel.name == name
            ]
            found.append(places[0] if places else None)
    return found


def at_rest(feed: Feed, where: list[Spot | None], seconds: float = REST_S) -> list[Rest]:
    """Each channel at its place in the feed, over the last `seconds`."""
    windows = [feed.window(n, seconds) for n in range(len(feed.streams))]
    return [
        rest_of(windows[spot.stream].values[:, spot.column])
        if spot is not None and len(windows[spot.stream].times)
        else Rest()
        for spot in where
    ]


def rest_of(values: F64) -> Rest:
    """Mean and noise of a stretch; values: shape (n,), NaN where there is none."""
    good = values[np.isfinite(values)]
    if not len(good):
        return Rest()
    noise, spread = float(good.std()), math.nan
    if len(good) >= 2 * _BATCHES:
        means = good[: len(good) // _BATCHES * _BATCHES].reshape(_BATCHES, -1).mean(axis=1)
        spread = 2.0 * float(means.std(ddof=1)) / math.sqrt(_BATCHES)
    return Rest(float(good.mean()), noise, len(good), spread)


def zero_of(channel: Channel, rest: Rest, shown: Shown) -> tuple[float | None, str]:
    """The new zero (Pa, all that is taken off) and a sentence; None where none can be taken."""
    said = {"value": shown.text(rest.mean, Dimension.PRESSURE)}
    if channel.dimension is not Dimension.PRESSURE:
        return None, tr("only a pressure has a zero")
    if rest.count < _LEAST_COUNT or math.isnan(rest.mean):
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
