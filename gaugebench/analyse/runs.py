"""Runs of one repeated value, and how long one may last by chance."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from gaugebench.model.arrays import F64


@dataclass(frozen=True, slots=True)
class Run:
    """Samples first … stop − 1 all have one value."""

    first: int
    stop: int

    def __len__(self) -> int:
        return self.stop - self.first


Indices = np.ndarray[tuple[int], np.dtype[np.int64]]


@dataclass(frozen=True, slots=True, eq=False)
class Repeats:
    """How a channel repeats itself.

    count: of samples. starts, lengths: shape (m,), of the runs of two samples or more, in order;
    all other samples stand alone.
    """

    count: int
    starts: Indices
    lengths: Indices

    @property
    def alone(self) -> int:
        """How many samples stand alone."""
        return self.count - int(np.sum(self.lengths))

    def longer_than(self, least: int) -> tuple[Run, ...]:
        """The runs of at least so many samples (2 or more), in order."""
        at = np.flatnonzero(self.lengths >= least)
        return tuple(
            Run(int(start), int(start + length))
            for start, length in zip(self.starts[at], self.lengths[at], strict=True)
        )

    def inside(self, least: int) -> int:
        """How many samples lie in runs of at least so many (2 or more)."""
        return int(np.sum(self.lengths[self.lengths >= least]))

    def share(self, without: tuple[Run, ...] = ()) -> float:
        """The share (0 to 1) of samples that repeat the one before, leaving out some runs."""
        left = self.count - sum(len(run) for run in without)
        repeated = int(np.sum(self.lengths - 1)) - sum(len(run) - 1 for run in without)
        return repeated / left if left > 1 else 1.0


def repeats(values: F64) -> Repeats:
    """The runs of a channel; a sample without a value (NaN) stands alone."""
    same = np.zeros(len(values) + 1, np.bool_)
    np.equal(values[1:], values[:-1], out=same[1:-1])
    edges = np.flatnonzero(same[1:] != same[:-1])
    starts, stops = edges[::2], edges[1::2] + 1
    return Repeats(len(values), starts, stops - starts)


def longest_by_chance(share: float, count: int) -> float:
    """The longest run to be expected of `count` samples, each repeating the last with `share`.

    The expected longest run of successes is about log(n (1 − p)) / log(1 / p): M. F. Schilling,
    “The longest run of heads”, College Mathematics Journal 21 (1990), from memory. Infinite for a
    share of 1.
    """
    if share >= 1.0:
        return math.inf
    if share <= 0.0 or count < 2:
        return 1.0
    return 1.0 + math.log(max(math.e, count * (1.0 - share))) / -math.log(share)


def step_of(values: F64) -> float:
    """The smallest difference between two values of a channel: its resolution; 0 for one value.

    Differences below 1e-9 of the largest value are rounding, not resolution.
    """
    good = values[np.isfinite(values)]
    if len(good) > 20_000:
        good = good[:: len(good) // 10_000]
    gaps = np.diff(np.unique(good))
    floor = 1e-9 * float(np.max(np.abs(good))) if len(good) else 0.0
    gaps = gaps[gaps > floor]
    return float(np.min(gaps)) if len(gaps) else 0.0
