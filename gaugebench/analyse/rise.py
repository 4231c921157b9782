"""The rise that ends in a hold: the level before it, its middle, its peak and its settling."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse.hold import Hold
from gaugebench.analyse.samples import Samples, smoothed
from gaugebench.analyse.track import PumpSpan

BIN_MARGIN_S = 0.05


@dataclass(frozen=True, slots=True)
class Rise:
    """The rise. initial: state level before it, Pa. from_load: an actuator was travelling.

    initial_start_s, initial_end_s, initial_count: the samples of that level. foot_s: where the
    rise leaves it. top_s: where it reaches 90 %. t50_s: its middle; t50_sd: standard deviation.
    """

    initial: float
    initial_sd: float
    initial_start_s: float
    initial_end_s: float
    initial_count: int
    from_load: bool
    foot_s: float
    top_s: float
    t50_s: float
    t50_sd: float


def find_rise(
    samples: Samples, base: float, start_s: float, hold: Hold, travel_s: float | None = None
) -> Rise | None:
    """The rise before the hold, of a pressure whose idle level is about `base` (Pa), or None.

    travel_s: from when on an actuator travelled at a load so light that it does not show in the
    pressure; None where that is not known.
    """
    width = max(1, round(0.008 / samples.interval_s))
    part = samples.part(start_s - 2.0, hold.end_s)
    if len(part) < 8:
        return None
    soft = smoothed(part.values, width)
    span = hold.level - base
    top = _last_up(soft, base + 0.9 * span)
    if top is None:
        return None
    top_s = float(part.times[top])
    found = _level_before(part, base, span, top_s)
    if found is None:
        return None
    level, sd, a, b, count, from_load = found
    from_load = from_load or (travel_s is not None and b > travel_s)
    middle = level + 0.5 * (hold.level - level)
    t50 = _crossing(part, soft, middle, hold.level - level, top)
    if t50 is None:
        return None
    return Rise(level, sd, a, b, count, from_load, b, top_s, *t50)


def _last_up(soft: np.ndarray, level: float) -> int | None:
    """Index of the first sample above the level after the last upward crossing."""
    above = soft >= level
    ups = np.flatnonzero(above[1:] & ~above[:-1])
    return int(ups[-1]) + 1 if len(ups) else None


def _level_before(
    part: Samples, base: float, span: float, top_s: float
) -> tuple[float, float, float, float, int, bool] | None:
    step = max(0.05, 2 * part.interval_s)
    begins = np.arange(top_s - step, part.times[0], -step)
    means = []
    for begin in begins:
        inside = part.part(begin, begin + step)
        means.append(float(np.mean(inside.values)) if len(inside) else float("nan"))
    level = np.array(means)
    noise = 3 * part.noise / np.sqrt(max(1.0, step / part.interval_s))
    tolerance = max(0.015 * abs(span), noise)
    # Five in a row stand; soon after another push there may be fewer.
    for need in (5, 3):
        first = next(
            (
                at
                for at in range(len(level) - need + 1)
                if np.ptp(level[at : at + need]) <= tolerance
                and level[at : at + need].mean() < base + 0.9 * span
            ),
            None,
        )
        if first is not None:
            break
    if first is None:
        return None
    from_load = level[first : first + need].mean() > base + 0.1 * span
    last = first + need
    centre = float(np.median(level[first:last]))
    while last < len(level) and abs(level[last] - centre) <= tolerance and last - first < 20:
        last += 1
    end = float(begins[first])
    start = float(begins[last - 1])
    inside = part.part(start, end)
    if len(inside) < 3:
        return None
    mean = float(np.mean(inside.values))
    sd = float(np.std(level[first:last])) / np.sqrt(last - first)
    return mean, sd, start, end, len(inside), bool(from_load)


def _crossing(
    part: Samples, soft: np.ndarray, level: float, span: float, top: int
) -> tuple[float, float] | None:
    """The last upward crossing before index `top`, by a fit to the samples round it."""
    below = np.flatnonzero(soft[: top + 1] < level)
    if not len(below):
        return None
    i = int(below[-1])
    j = min(i + 1, len(soft) - 1)
    lo = i
    while lo > 0 and soft[lo - 1] > level - 0.2 * span and soft[lo - 1] <= soft[lo] + 0.05 * span:
        lo -= 1
    hi = j
    while hi < len(soft) - 1 and soft[hi + 1] < level + 0.2 * span:
        hi += 1
    t, p = part.times[lo : hi + 1], part.values[lo : hi + 1]
    interval = part.interval_s
    if len(t) >= 5:
        degree = 1 if len(t) < 8 else 2 if len(t) < 14 else 3
        origin = float(part.times[i])
        scale = max(float(t[-1] - t[0]), interval)
        x = (t - origin) / scale
        fit = np.polynomial.polynomial.polyfit(x, p - level, degree)
        roots = np.polynomial.polynomial.polyroots(fit)
        real = roots[np.abs(roots.imag) < 1e-9].real
        real = real[(real >= x[0] - 0.05) & (real <= x[-1] + 0.05)]
        if len(real):
            root = float(real[np.argmin(np.abs(real))])
            slope = float(
                np.polynomial.polynomial.polyval(root, np.polynomial.polynomial.polyder(fit))
            )
            rest = p - level - np.polynomial.polynomial.polyval(x, fit)
            sd = float(np.std(rest)) / abs(slope) * scale * np.sqrt((degree + 1) / len(t))
            if slope > 0:
                return origin + root * scale, float(sd)
    rise = part.values[j] - part.values[i]
    share = (level - part.values[i]) / rise if rise > 0 else 0.5
    share = float(np.clip(share, 0.0, 1.0))
    return float(part.times[i] + share * (part.times[j] - part.times[i])), interval / 6


def departure(samples: Samples, span: PumpSpan, hold: Hold) -> float:
    """Where the pressure departs from idle: it has left by a fiftieth of the way to the hold."""
    part = samples.part(span.start_s - 2.0, span.start_s + BIN_MARGIN_S)
    if len(part) < 5:
        return span.start_s
    soft = smoothed(part.values, max(1, round(0.02 / part.interval_s)))
    away = max(0.02 * (hold.level - span.base_pa), 3 * part.noise)
    idle = np.flatnonzero(soft < span.base_pa + away)
    return float(part.times[idle[-1]]) if len(idle) else span.start_s
