"""The hold of a loading: its steady last part before the drop, and the level there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse.samples import Samples, smoothed
from gaugebench.model.arrays import F64

BLOCK_S = 0.1
"""Steadiness is judged on means over this long: several periods of pump ripple."""


@dataclass(frozen=True, slots=True)
class Hold:
    """The steady last part of a hold.

    level: mean pressure there (the settled pressure), Pa. start_s, end_s, count: the samples it
    was taken from. drop_s: when the pressure leaves the level for good; the end of the samples
    where the trace ends before. spread: standard deviation of the block means; blocks: how many.
    begin_s: when the pressure first comes near the level. trend_per_s: slope of the level, Pa/s.
    """

    level: float
    start_s: float
    end_s: float
    count: int
    drop_s: float
    begin_s: float
    spread: float
    blocks: int
    trend_per_s: float


def find_hold(samples: Samples, base: float, start_s: float, end_s: float) -> Hold | None:
    """The hold between two instants of a pressure that rose from `base` (Pa), or None."""
    part = samples.part(start_s, end_s)
    if len(part) < 8:
        return None
    block_s = max(BLOCK_S, 3 * part.interval_s)
    soft = smoothed(part.values, max(1, round(0.03 / part.interval_s)))
    high = float(np.percentile(soft, 95))
    above = np.flatnonzero(soft >= base + 0.5 * (high - base))
    if len(above) < 6:
        return None
    first, last = float(part.times[above[0]]), float(part.times[above[-1]])
    reach = min(1.2, 0.5 * (last - first))
    tail = part.part(last - reach, last - 0.2 * reach)
    if len(tail) < 3:
        return None
    level = float(np.median(tail.values))
    means, begins = _blocks(part, first, last, block_s)
    late = means[begins >= last - max(reach, 0.5 * (last - first))]
    late = late[np.abs(late - level) < 0.1 * abs(level - base)]
    spread = _spread(late)
    tolerance = max(4 * spread, 0.002 * abs(level - base))
    good = np.abs(means - level) <= tolerance
    if not good.any():
        return None
    stop = int(np.flatnonzero(good)[-1])
    start = stop
    while start > 0 and (good[start - 1] or (start > 1 and good[start - 2])):
        start -= 1
    if stop - start >= 3:
        stop -= 1  # the block in which the drop may have begun
    cap = stop - max(round(1.0 / block_s), round(0.6 * (stop - start)))
    start = max(start, min(cap, stop))
    a, b = float(begins[start]), float(begins[stop]) + block_s
    kept = part.part(a, b)
    if len(kept) < 3:
        return None
    settled = float(np.mean(kept.values))
    near = np.flatnonzero(np.abs(soft - settled) <= max(tolerance, 0.02 * abs(settled - base)))
    after = near[near < len(soft)]
    trend = float(np.polyfit(kept.times - a, kept.values, 1)[0]) if len(kept) > 5 else 0.0
    return Hold(
        level=settled,
        start_s=a,
        end_s=b,
        count=len(kept),
        drop_s=float(part.times[after[-1]]) if len(after) else b,
        begin_s=float(part.times[after[0]]) if len(after) else a,
        spread=_spread(means[start : stop + 1]),
        blocks=stop - start + 1,
        trend_per_s=trend,
    )


def _blocks(part: Samples, start_s: float, end_s: float, block_s: float) -> tuple[F64, F64]:
    """Means over consecutive blocks, and where they begin; blocks end at `end_s`."""
    count = max(1, int((end_s - start_s) / block_s))
    begins: F64 = end_s - block_s * np.arange(count, 0, -1, dtype=np.float64)
    edges = np.searchsorted(part.times, np.append(begins, end_s))
    sizes = np.diff(edges)
    filled = sizes > 0
    total = np.concatenate(([0.0], np.cumsum(part.values)))
    sums = np.diff(total[edges])
    means: F64 = sums[filled] / sizes[filled]
    return means, begins[filled]


def _spread(values: F64) -> float:
    if len(values) < 2:
        return 0.0
    middle = float(np.median(values))
    return 1.4826 * float(np.median(np.abs(values - middle)))
