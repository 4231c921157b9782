"""Channels that repeat another sample for sample: two wires on one input, or a mixed-up list.

Two transducers on one line follow the same pressure, but each with its own zero and noise; a copy
has the very same numbers. Only the latter is found here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse.runs import Run, step_of
from gaugebench.model.arrays import F64, Bools

LAGS = (0, 1, -1)
"""By how many samples a copy may be late (a scanned converter), most likely first."""
_LEAST = 50
"""No shorter stretch is judged, in samples."""
_DISTINCT = 12
"""A stretch needs so many different values before its sameness means anything."""
_CHANGES = 60
"""And so many changes: two coarse transducers on one line may well agree through a few."""
_WINDOW, _WINDOWS = 64, 256


@dataclass(frozen=True, slots=True, eq=False)
class Looked:
    """A channel, and what was seen of it at a glance, so that pairs need not look again.

    values: shape (n,). some: every so-many-th of them. step: the resolution.
    """

    values: F64
    some: F64
    step: float

    @staticmethod
    def at(values: F64) -> Looked:
        """A first look at a channel."""
        some = values[:: max(1, len(values) // 4000)].copy()
        return Looked(values, some, step_of(some))


def copied_stretches(one_look: Looked, other_look: Looked) -> tuple[Run, ...]:
    """The stretches of the second that repeat the first, in order.

    Both sampled at the same instants, in any units: equal values count, and so does one straight
    line through all pairs that leaves less than half a step of resolution.
    """
    first, second = one_look.values, other_look.values
    if len(first) != len(second) or len(first) < _LEAST:
        return ()
    for lag in LAGS:
        one, two = _shifted(first, second, lag)
        if _worth_looking(one, two):
            found = _equal_runs(one, two)
            if found:
                start = max(0, lag)
                return tuple(Run(run.first + start, run.stop + start) for run in found)
    return (Run(0, len(second)),) if _is_on_a_line(one_look, other_look) else ()


def _shifted(first: F64, second: F64, lag: int) -> tuple[F64, F64]:
    """The pairs in which `second` is `lag` samples late."""
    if lag == 0:
        return first, second
    return (first[:-lag], second[lag:]) if lag > 0 else (first[-lag:], second[:lag])


def _worth_looking(one: F64, two: F64) -> bool:
    """A quick look at windows spread over a long record before all of it is compared."""
    if len(one) <= _WINDOW * _WINDOWS:
        return True
    starts = np.linspace(0, len(one) - _WINDOW, _WINDOWS).astype(np.int64)
    at = starts[:, None] + np.arange(_WINDOW)
    return bool(np.any(np.mean(one[at] == two[at], axis=1) > 0.9))


def _equal_runs(one: F64, two: F64) -> tuple[Run, ...]:
    same: Bools = one == two
    edges = np.flatnonzero(np.diff(np.concatenate(([False], same, [False]))))
    found = []
    for first, stop in zip(edges[::2], edges[1::2], strict=True):
        if stop - first >= _LEAST:
            part = two[first : min(stop, first + 100 * _LEAST)]
            changes = int(np.count_nonzero(np.diff(part)))
            if changes >= _CHANGES and len(np.unique(part)) >= _DISTINCT:
                found.append(Run(int(first), int(stop)))
    return tuple(found)


def _is_on_a_line(first: Looked, second: Looked) -> bool:
    """Whether the second is a straight line of the first, to half a step at nearly all samples.

    Asked only where both channels' noise is above their resolution: two quiet transducers on one
    line could otherwise pass for one.
    """
    good = np.isfinite(first.some) & np.isfinite(second.some)
    one, two = first.some[good], second.some[good]
    if len(one) < 4 * _LEAST:
        return False
    spread = one - float(np.mean(one))
    power = float(spread @ spread)
    if power == 0.0:
        return False
    slope = float(spread @ two) / power
    left = two - float(np.mean(two)) - slope * spread
    limit = 0.5 * (abs(slope) * first.step + second.step) * 1.05
    if slope == 0.0 or float(np.quantile(np.abs(left), 0.995)) > limit:
        return False
    return _noise(first.values) >= first.step and _noise(second.values) >= second.step


def _noise(values: F64) -> float:
    """Standard deviation of the quick part of a channel, from second differences where it rests."""
    count = len(values) // _WINDOW * _WINDOW
    stretches = values[:count].reshape(-1, _WINDOW)
    stretches = stretches[:: max(1, len(stretches) // 1000)]
    bends = np.diff(stretches, 2, axis=1)
    scatter = np.sqrt(np.mean(bends**2, axis=1) / 6)
    return float(np.quantile(scatter[np.isfinite(scatter)], 0.25)) if len(scatter) else 0.0
