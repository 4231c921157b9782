"""The rise that ends in a hold: the level before it, its middle, its peak and its settling."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse import uncertainty
from gaugebench.analyse.budget import LEVELS, TREND
from gaugebench.analyse.hold import Hold
from gaugebench.analyse.samples import Samples, smoothed
from gaugebench.analyse.track import PumpSpan
from gaugebench.model.arrays import F64

BIN_MARGIN_S = 0.05


@dataclass(frozen=True, slots=True)
class Rise:
    """The rise. initial: state level before it, Pa. from_load: an actuator was travelling.

    initial_start_s, initial_end_s, initial_count: the samples of that level. foot_s: where the
    rise leaves it. top_s: where it reaches 90 %. t50_s: its middle, as the record shows it.
    initial_parts (Pa), t50_parts (s): standard uncertainties by name.
    """

    initial: float
    initial_parts: dict[str, float]
    initial_start_s: float
    initial_end_s: float
    initial_count: int
    from_load: bool
    foot_s: float
    top_s: float
    t50_s: float
    t50_parts: dict[str, float]

    @property
    def t50_sd(self) -> float:
        """The standard uncertainty of `t50_s`, s."""
        return float(np.sqrt(sum(sd * sd for sd in self.t50_parts.values())))


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
    level, foot_s, from_load = found
    from_load = from_load or (travel_s is not None and foot_s > travel_s)
    middle = level.mean + 0.5 * (hold.level - level.mean)
    t50 = _crossing(part, soft, middle, hold.level - level.mean, top)
    if t50 is None:
        return None
    t50_s, fit_sd, slope = t50
    beside = [*level.parts.values(), *hold.parts.values()]
    parts = {"fit": fit_sd}
    if slope > 0:
        parts[LEVELS] = 0.5 * float(np.linalg.norm(beside)) / slope
    return Rise(
        initial=level.mean,
        initial_parts=level.parts,
        initial_start_s=level.start_s,
        initial_end_s=level.end_s,
        initial_count=level.count,
        from_load=from_load,
        foot_s=foot_s,
        top_s=top_s,
        t50_s=t50_s,
        t50_parts=parts,
    )


@dataclass(frozen=True, slots=True)
class _Level:
    """A state level: mean, Pa, its standard uncertainties by name, and the samples it is from."""

    mean: float
    parts: dict[str, float]
    start_s: float
    end_s: float
    count: int


def _last_up(soft: np.ndarray, level: float) -> int | None:
    """Index of the first sample above the level after the last upward crossing."""
    above = soft >= level
    ups = np.flatnonzero(above[1:] & ~above[:-1])
    return int(ups[-1]) + 1 if len(ups) else None


def _level_before(
    part: Samples, base: float, span: float, top_s: float
) -> tuple[_Level, float, bool] | None:
    """The level before a rise, where the rise leaves it (s), and whether it is a load's."""
    step = max(0.05, 2 * part.interval_s)
    begins = np.arange(top_s - step, part.times[0], -step)
    edges = np.searchsorted(part.times, np.append(begins[::-1], top_s))
    total = np.concatenate(([0.0], np.cumsum(part.values)))
    sizes = np.diff(edges)
    level: F64 = np.full(len(sizes), np.nan)
    np.divide(np.diff(total[edges]), sizes, out=level, where=sizes > 0)
    level = level[::-1]
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
    from_load = bool(level[first : first + need].mean() > base + 0.1 * span)
    foot_s = float(begins[first])
    # A lever that is moved slowly lets the level creep up before the rise: go back while it falls.
    while not from_load and _falls(level[first : first + need + 1], noise, need):
        first += 1
    last = first + need
    centre = float(np.median(level[first:last]))
    while last < len(level) and abs(level[last] - centre) <= tolerance and last - first < 20:
        last += 1
    end, start = float(begins[first]), float(begins[last - 1])
    inside = part.part(start, end)
    if len(inside) < 3:
        return None
    steps: F64 = level[first:last]
    drift = float(np.polyfit(np.arange(len(steps)), steps, 1)[0]) * len(steps)
    parts = {
        "noise": float(np.std(steps)) / np.sqrt(len(steps)),
        TREND: uncertainty.resolution(abs(drift)),
    }
    mean = float(np.mean(inside.values))
    return _Level(mean, parts, start, end, len(inside)), foot_s, from_load


def _falls(level: np.ndarray, noise: float, need: int) -> bool:
    """Whether the level, back in time, falls by more than its noise, and goes on falling."""
    return len(level) > need and level[0] - level[-2] > noise and level[-1] < level[-2]


def _crossing(
    part: Samples, soft: np.ndarray, level: float, span: float, top: int
) -> tuple[float, float, float] | None:
    """The last upward crossing before index `top`, by a fit to the samples round it: the instant
    and its standard deviation, s, and the slope there, Pa/s (0 where it is not known)."""
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
            left = float(rest @ rest) / (len(t) - degree - 1)
            sd = np.sqrt(left * (degree + 1) / len(t)) / abs(slope) * scale
            if slope > 0:
                return origin + root * scale, float(sd), slope / scale
    rise = part.values[j] - part.values[i]
    share = (level - part.values[i]) / rise if rise > 0 else 0.5
    share = float(np.clip(share, 0.0, 1.0))
    at = float(part.times[i] + share * (part.times[j] - part.times[i]))
    return at, interval / 6, max(0.0, float(rise)) / interval


def departure(samples: Samples, span: PumpSpan, hold: Hold) -> float:
    """Where the pressure departs from idle: it has left by a fiftieth of the way to the hold."""
    part = samples.part(span.start_s - 2.0, span.start_s + BIN_MARGIN_S)
    if len(part) < 5:
        return span.start_s
    soft = smoothed(part.values, max(1, round(0.02 / part.interval_s)))
    away = max(0.02 * (hold.level - span.base_pa), 3 * part.noise)
    idle = np.flatnonzero(soft < span.base_pa + away)
    return float(part.times[idle[-1]]) if len(idle) else span.start_s
