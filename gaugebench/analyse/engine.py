"""The engine under load: how far it lugs down, and the sum of main pressures against its speed.

Speeds in rpm, times in s, pressures in Pa gauge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaugebench.analyse.budget import NOISE, Budget, held_mean
from gaugebench.model.arrays import F64, Bools
from gaugebench.model.figures import Absent, Answer, Figure, Window

_BEFORE_S = 1.5
"""How much of the time before a loading shows the unloaded speed."""
_CLEAR_S = 0.1
"""What is left out just before the loading."""
_SMOOTH_S = 0.25
"""Width of the mean that takes the noise out of the lowest speed."""
_BACK_SHARE = 0.01
"""Recovered: back within this share of the unloaded speed."""
_FEWEST = 5


@dataclass(frozen=True, slots=True)
class Droop:
    """How an engine takes a loading.

    unloaded: mean speed just before; lowest: the lowest mean of a quarter second in the loading;
    droop: (unloaded − lowest) / unloaded, %; recovery: from the lowest to within 1 % of unloaded
    while the loading lasts, s.
    """

    unloaded: Answer
    lowest: Answer
    droop: Answer
    recovery: Answer


def droop(times: F64, speeds: F64, start_s: float, end_s: float) -> Droop:
    """The lug-down of the engine over one loading.

    times, speeds: shape (n,), of the speed channel; NaN where there is none. start_s, end_s: the
    loading. Absent figures say why.
    """
    good = np.isfinite(speeds)
    t, n = times[good], speeds[good]
    unloaded = _unloaded(t, n, start_s)
    inside = (t >= start_s) & (t <= end_s)
    if np.count_nonzero(inside) < _FEWEST:
        gone = Absent("The engine's speed has too few samples in the loading.")
        return Droop(unloaded, gone, gone, gone)
    part_t, part_n = t[inside], n[inside]
    smooth, width = _smoothed(part_t, part_n)
    at = int(np.argmin(smooth))
    noise = float(np.std(np.diff(part_n))) / np.sqrt(2)
    window = Window(float(part_t[0]), float(part_t[-1]), len(part_t))
    lowest = (
        Budget({}).plus({NOISE: noise / np.sqrt(width)}).figure(float(smooth[at]), "rpm", window)
    )
    if isinstance(unloaded, Absent):
        return Droop(unloaded, lowest, unloaded, unloaded)
    return Droop(
        unloaded,
        lowest,
        _share(unloaded, lowest),
        _recovery(part_t[at:], smooth[at:], unloaded.value, window),
    )


def _unloaded(t: F64, n: F64, start_s: float) -> Answer:
    before = (t >= start_s - _BEFORE_S) & (t <= start_s - _CLEAR_S)
    if np.count_nonzero(before) < _FEWEST:
        return Absent("The engine's speed has too few samples before the loading.")
    part = n[before]
    found = held_mean(part)
    if found.mean <= 0.0:
        return Absent("The engine was not turning before the loading.")
    if float(np.ptp(_smoothed(t[before], part)[0])) > 0.03 * found.mean:
        return Absent("The engine's speed was not steady before the loading.")
    window = Window(float(t[before][0]), float(t[before][-1]), len(part))
    return Budget({}).plus({NOISE: found.standard}).figure(found.mean, "rpm", window)


def _smoothed(t: F64, n: F64) -> tuple[F64, int]:
    """The running mean over a quarter second, as long as its input, and its width in samples."""
    interval = float(np.median(np.diff(t))) if len(t) > 1 else _SMOOTH_S
    width = max(1, min(len(n), round(_SMOOTH_S / interval))) if interval > 0 else 1
    sums = np.cumsum(np.concatenate(([0.0], n)))
    middle = np.arange(len(n))
    low = np.maximum(0, middle - width // 2)
    high = np.minimum(len(n), low + width)
    low = np.maximum(0, high - width)
    return (sums[high] - sums[low]) / (high - low), width


def _share(unloaded: Figure, lowest: Figure) -> Figure:
    parts = {
        "unloaded speed": 100 * lowest.value / unloaded.value**2 * (unloaded.expanded or 0.0) / 2,
        "lowest speed": 100 / unloaded.value * (lowest.expanded or 0.0) / 2,
    }
    value = 100 * (unloaded.value - lowest.value) / unloaded.value
    return Budget({}).plus(parts).figure(value, "%", lowest.window)


def _recovery(t: F64, smooth: F64, unloaded: float, window: Window) -> Answer:
    low = unloaded * (1 - _BACK_SHARE)
    if smooth[0] >= low:
        return Absent("The engine did not lug down by more than 1 %.")
    back = np.flatnonzero(smooth >= low)
    if not len(back):
        return Absent("The engine did not recover while the loading lasted.")
    return Budget({"smoothing": _SMOOTH_S / np.sqrt(12)}).figure(
        float(t[back[0]] - t[0]), "s", window
    )


@dataclass(frozen=True, slots=True, eq=False)
class SumCurve:
    """The sum of the main pressures against engine speed, for judging the torque control.

    speeds: middles of the bins that hold samples, rpm; sums: mean sum in each, Pa; spreads:
    standard deviation; counts. All of shape (m,).
    """

    speeds: F64
    sums: F64
    spreads: F64
    counts: F64


def sum_against_speed(
    times: F64,
    mains: Sequence[F64],
    speed_times: F64,
    speeds: F64,
    *,
    relief_pa: float | None = None,
    bin_rpm: float = 20.0,
) -> SumCurve | Absent:
    """The curve of the mains' sum against engine speed.

    times, mains: of one stream, each main of shape (n,). The speed is read between its own samples
    on a straight line, never across more than half a second. relief_pa: with it only samples count
    in which every main is at 50 to 80 % of the relief, where torque can be judged: at a cut-off
    stall it cannot (common practice, no source).
    """
    if not mains:
        return Absent("No main pressure is in the trace.")
    good = np.isfinite(speeds)
    if np.count_nonzero(good) < 2:
        return Absent("The engine's speed has too few samples.")
    at = speed_times[good]
    speed = np.interp(times, at, speeds[good], left=np.nan, right=np.nan)
    after = np.clip(np.searchsorted(at, times), 1, len(at) - 1)
    use: Bools = np.isfinite(speed) & (at[after] - at[after - 1] <= 0.5)
    for main in mains:
        use &= np.isfinite(main)
        if relief_pa is not None:
            use &= (main >= 0.5 * relief_pa) & (main <= 0.8 * relief_pa)
    if np.count_nonzero(use) < _FEWEST:
        return Absent(
            "No samples have every main at 50 to 80 % of its relief; move both functions together."
            if relief_pa is not None
            else "Pressures and engine speed have no instants in common."
        )
    total = np.sum([main[use] for main in mains], axis=0)
    places = np.floor(speed[use] / bin_rpm).astype(np.int64)
    kept, index, counts = np.unique(places, return_inverse=True, return_counts=True)
    sums = np.bincount(index, total) / counts
    squares = np.bincount(index, (total - sums[index]) ** 2) / counts
    middles = np.asarray((kept + 0.5) * bin_rpm, np.float64)
    return SumCurve(middles, sums, np.sqrt(squares), counts.astype(np.float64))
