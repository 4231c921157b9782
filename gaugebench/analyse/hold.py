"""The hold of a loading: its steady last part before the drop, and the level there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse import uncertainty
from gaugebench.analyse.budget import TREND
from gaugebench.analyse.samples import Samples, smoothed
from gaugebench.model.arrays import F64

BLOCK_S = 0.1
"""Steadiness is judged on means over this long: several periods of pump ripple."""

STILL_SHARE = 0.006
"""A change by less than this share of the pressure from one block to the next is standing."""
ENOUGH_BLOCKS = 4
HIGHER = 1.15
CALM_BLOCKS = 12
PLATEAU_BLOCKS = 8
PLATEAU_APART = (0.03, 0.2)
"""Another plateau lies this far from the hold, as a share of the rise: further off is a load."""


@dataclass(frozen=True, slots=True)
class Hold:
    """The steady last part of a hold.

    level: mean pressure there (the settled pressure), Pa. start_s, end_s, count: the samples it
    was taken from. drop_s: when the pressure leaves the level for good; the end of the samples
    where the trace ends before. spread: standard deviation of the block means; blocks: how many.
    begin_s: when the pressure first comes near the level. trend_per_s: slope of the level, Pa/s.
    other: another level at which the pressure stood in the same hold (a power boost gives two
    plateaus), with when it did: (Pa, s, s); None where there is none.
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
    other: tuple[float, float, float] | None = None

    @property
    def parts(self) -> dict[str, float]:
        """Standard uncertainties of the level, Pa: of the noise, and of which last part is meant
        where it drifts (it lies anywhere on the drift, JCGM 100 4.3.7)."""
        return {
            "noise": self.spread / float(np.sqrt(max(1, self.blocks))),
            TREND: uncertainty.resolution(abs(self.trend_per_s) * (self.end_s - self.start_s)),
        }


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
    means, begins = _blocks(part, first, last, block_s)
    calm = _last_calm(means, base, part.noise / np.sqrt(max(1.0, block_s / part.interval_s)))
    if calm is None:
        return None
    level = float(np.median(means[calm][-CALM_BLOCKS:]))
    spread = _spread(means[calm])
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
        other=_other_plateau(means, begins, calm.start, settled, base),
    )


def _other_plateau(
    means: F64, begins: F64, stop: int, level: float, base: float
) -> tuple[float, float, float] | None:
    """A stretch before the hold in which the pressure stood at another level near to it."""
    step = np.abs(np.diff(means[:stop]))
    still = np.flatnonzero(step < STILL_SHARE * np.abs(means[1:stop] - base))
    for run in np.split(still, np.flatnonzero(np.diff(still) > 1) + 1):
        if len(run) < PLATEAU_BLOCKS:
            continue
        there = float(np.median(means[run[0] : run[-1] + 2]))
        apart = abs(there - level) / abs(level - base)
        if PLATEAU_APART[0] < apart < PLATEAU_APART[1]:
            return there, float(begins[run[0]]), float(begins[run[-1] + 1])
    return None


def _last_calm(means: F64, base: float, noise: float) -> slice | None:
    """The last run of blocks that change little from one to the next; the longest where none is
    long enough; None where there are no blocks. noise: standard deviation of a block, Pa."""
    if len(means) == 0:
        return None
    change = np.abs(np.diff(means))
    usual = float(np.median(change)) if len(change) else 0.0
    calm = change <= np.maximum(STILL_SHARE * np.abs(means[1:] - base), max(4 * noise, 2 * usual))
    edges = np.flatnonzero(np.diff(np.concatenate(([0], calm.astype(int), [0]))))
    runs = [(int(a), int(b) + 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    if not runs:
        return slice(len(means) // 2, len(means))
    long = [run for run in runs if run[1] - run[0] >= ENOUGH_BLOCKS]
    start, stop = long[-1] if long else max(runs, key=lambda run: run[1] - run[0])
    # A short hold at the end of a travel, at a far higher level, is the hold all the same.
    floor = base + HIGHER * (float(np.median(means[start:stop])) - base)
    for a, b in runs:
        if a >= stop and b - a >= 2 and float(np.median(means[a:b])) > floor:
            start, stop = a, b
    return slice(start, stop)


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
