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


@dataclass(frozen=True, slots=True)
class Repeats:
    """How a channel repeats itself.

    edges: shape (m + 1,), where its m runs start, and the count of samples at the end.
    """

    edges: np.ndarray[tuple[int], np.dtype[np.int64]]

    @property
    def count(self) -> int:
        """How many samples there are."""
        return int(self.edges[-1])

    def longer_than(self, least: int) -> tuple[Run, ...]:
        """The runs of at least so many samples, in order."""
        at = np.flatnonzero(np.diff(self.edges) >= least)
        return tuple(Run(int(self.edges[i]), int(self.edges[i + 1])) for i in at)

    def share(self, without: tuple[Run, ...] = ()) -> float:
        """The share (0 to 1) of samples that repeat the one before, leaving out some runs."""
        out = sum(len(run) for run in without)
        left, changes = self.count - out, len(self.edges) - 1 - len(without)
        return max(0.0, 1.0 - changes / left) if left > 1 else 1.0


def repeats(values: F64) -> Repeats:
    """The runs of a channel; a sample without a value (NaN) is a run of its own."""
    changes = np.flatnonzero(values[1:] != values[:-1]) + 1
    edges = np.concatenate(([0], changes, [len(values)])).astype(np.int64)
    return Repeats(edges)


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
