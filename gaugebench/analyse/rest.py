"""What a channel does when nothing happens: its noise, how often it truly changes, its zero."""

from __future__ import annotations

import numpy as np

from gaugebench.analyse.runs import repeats
from gaugebench.model.arrays import F64, Bools

_WINDOW = 64
_SUCTION_PA = 0.5e5
"""A line may well stand so far below the atmosphere while something draws from it, Pa."""
_SOME = 20_000
VACUUM_PA = -1.1e5
"""No gauge pressure is lower: a little more than the whole atmosphere, Pa."""


def noise_at_rest(values: F64) -> float | None:
    """Standard deviation of the quick part of a channel where it is calm, unit of the values.

    From second differences (σ√6 for independent samples) of stretches of 64 samples, so that slow
    movement does not count; the calmest tenth of the stretches is taken. None where there is no
    stretch without a gap.
    """
    count = len(values) // _WINDOW
    if not count:
        return None
    stretches = values[: count * _WINDOW].reshape(-1, _WINDOW)[:: max(1, count // 1000)]
    stretches = stretches[np.all(np.isfinite(stretches), axis=1)]
    if not len(stretches):
        return None
    bends = np.diff(stretches, 2, axis=1)
    scatter = np.sqrt(np.mean(bends**2, axis=1) / 6)
    return float(np.quantile(scatter, 0.1))


def update_rate(times: F64, values: F64) -> float | None:
    """How often a channel truly changes, Hz, where that is less often than it is sampled.

    None where some of its changes are one sample apart, so that nothing tells it from a channel
    sampled as often as it changes; or where it changes too seldom to tell (under 20 times).
    """
    if len(values) < 40:
        return None
    some = values[len(values) // 2 :][:_SOME]
    if np.mean(some[1:] == some[:-1]) < 0.3:  # most samples differ: no need to look at them all
        return None
    found = repeats(values)
    lengths = found.lengths
    if len(lengths) < 20 or found.alone > 0.02 * len(lengths):
        return None
    interval = float(times[-1] - times[0]) / (len(times) - 1)
    shortest = float(np.quantile(lengths, 0.05))
    single = lengths[lengths < 1.5 * shortest + 1.0]  # a repeated value doubles a run: leave it out
    return 1.0 / (interval * float(np.mean(single)))


def below_vacuum(times: F64, values: F64, full_scale: float | None) -> tuple[float, float] | None:
    """The longest span (s) in which a gauge pressure reads lower than any pressure can be.

    Allows 2 % of full scale (of the largest value where no range is stated) for a zero's error.
    None where there is none of 0.2 s and five samples.
    """
    lowest = float(np.nanmin(values, initial=0.0))
    if lowest >= VACUUM_PA:
        return None
    scale = full_scale or float(np.nanmax(np.abs(values), initial=0.0))
    return _longest(times, values < VACUUM_PA - 0.02 * scale, 0.2)


def _longest(times: F64, low: Bools, least_s: float) -> tuple[float, float] | None:
    edges = np.flatnonzero(np.diff(np.concatenate(([False], low, [False]))))
    firsts, lasts = edges[::2], edges[1::2] - 1
    if not len(edges):
        return None
    longest = int(np.argmax(times[lasts] - times[firsts]))
    first, last = int(firsts[longest]), int(lasts[longest])
    start, end = float(times[first]), float(times[last])
    return (start, end) if end - start >= least_s and last - first >= 3 else None


def negative_rest(
    times: F64, values: F64, full_scale: float | None
) -> tuple[float, float, float] | None:
    """Where a gauge pressure rests for a second below zero by 0.5 bar and 0.5 % of full scale.

    (start, end, level), s and Pa, of the longest such stretch, from means of a quarter second; None
    where there is none. A circuit at rest is at zero, so its zero is off or was never taken.
    """
    if float(np.nanmin(values, initial=0.0)) >= -_SUCTION_PA:
        return None
    scale = full_scale or float(np.nanmax(np.abs(values), initial=0.0))
    interval = float(np.median(np.diff(times))) if len(times) > 1 else 0.0
    size = max(1, round(0.25 / interval)) if interval > 0 else 1
    count = len(values) // size * size
    if not count:
        return None
    means = values[:count].reshape(-1, size).mean(axis=1)
    span = _longest(times[:count:size], means < -max(_SUCTION_PA, 0.005 * scale), 1.0)
    if span is None:
        return None
    start, end = span[0], span[1] + (size - 1) * interval
    level = float(np.mean(values[(times >= start) & (times <= end)]))
    return None if level < VACUUM_PA - 0.02 * scale else (start, end, level)
