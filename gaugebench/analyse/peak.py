"""The largest pressure of a loading, with and without ripple and noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse import uncertainty
from gaugebench.analyse.fit import columns, least_squares
from gaugebench.analyse.hold import Hold
from gaugebench.analyse.ripple import Ripple
from gaugebench.analyse.rise import Rise
from gaugebench.analyse.samples import Samples, smoothed
from gaugebench.model.arrays import F64

SMOOTH_S = 0.012
"""Width of the mean that finds where the peak is."""
FIT_S = 0.03
"""Length of the stretch to which a parabola is fitted."""
RUN_S = 0.05
"""Length of the stretch to which a run-down is fitted."""
STANDS_OUT = 2.5
"""A peak stands out where it is as many times as high as the hold's own fluctuation."""
SHARP_SHARE = 0.05
"""Standard uncertainty of an overshoot's height, as a share of it: how far its top is cut off
between samples and by the record's lag."""
STEP_SHARE = 0.02
"""And as a share of the greatest rise from one sample to the next."""
RUN_DOWNS_S = (0.006, 0.012, 0.025, 0.05, 0.1, 0.2)


@dataclass(frozen=True, slots=True)
class Peak:
    """pressure, sd: Pa; time_s: when. plain: whether it stands out of the hold's own fluctuation.

    raw, raw_time_s: the largest raw sample. one_sample: no neighbour supports the raw peak.
    """

    pressure: float
    sd: float
    time_s: float
    plain: bool
    raw: float
    raw_time_s: float
    one_sample: bool


def find_peak(
    samples: Samples, rise: Rise, hold: Hold, ripple: Ripple | None, smoothing_s: float | None
) -> Peak | None:
    """The peak between the start of the rise and the drop, or None where there are no samples.

    Where nothing before the steady hold stands out of the hold's own fluctuation, the peak is the
    settled pressure: an overshoot that cannot be told from ripple is none. Else a parabola is
    fitted to the samples from the corner at the top of the rise on, so that neither the steep rise
    nor the ripple pulls at it.
    """
    part = samples.part(rise.foot_s, hold.drop_s + samples.interval_s / 2)
    if len(part) < 3:
        return None
    width = max(1, round((SMOOTH_S if smoothing_s is None else smoothing_s) / part.interval_s))
    soft = smoothed(part.values, width)
    early = part.times < max(hold.start_s, rise.top_s + 0.05)
    # How far a mean as long as the fit strays in the hold by itself.
    wide = smoothed(part.values, max(1, round(FIT_S / part.interval_s)))
    calm = wide[(part.times >= hold.start_s) & (part.times < hold.end_s)] - hold.level
    swing = float(np.sqrt(np.mean(calm * calm))) if len(calm) else samples.noise
    top = int(np.argmax(np.where(early, soft, -np.inf))) if early.any() else 0
    height, sd, unlike = _height(part, soft, top, ripple, smoothing_s)
    above = height - hold.level
    least = max(STANDS_OUT * swing, 2.0 * sd)
    plain = bool(early.any()) and above > least
    raw_at = int(np.argmax(part.raw))
    beside = np.concatenate((part.raw[max(0, raw_at - 1) : raw_at], part.raw[raw_at + 1 :][:1]))
    one = bool(part.raw[raw_at] - np.max(beside) > 6 * part.noise) if len(beside) else True
    # A mean as long as the fit strays as far at the top as it does in the hold, and the highest of
    # several strays upwards: by √(2 ln m) of its deviation at most, in the mean. Where none stands
    # out, one may hide that would just not have: none is said of anything up to `least`.
    several = max(1.0, max(hold.start_s - rise.top_s, 0.05) / FIT_S)
    highest = uncertainty.rectangular(swing * float(np.sqrt(2 * np.log(several))))
    shown = [sd, unlike, swing, highest, SHARP_SHARE * above]
    spread = shown if plain else [uncertainty.rectangular(least)]
    # And the top may lie between two samples.
    spread.append(STEP_SHARE * float(np.max(np.diff(part.values))))
    return Peak(
        pressure=height if plain else hold.level,
        sd=float(np.linalg.norm(spread)),
        time_s=float(part.times[top]),
        plain=plain,
        raw=float(part.raw[raw_at]),
        raw_time_s=float(part.times[raw_at]),
        one_sample=one,
    )


def _height(
    part: Samples, soft: F64, top: int, ripple: Ripple | None, smoothing_s: float | None
) -> tuple[float, float, float]:
    """The height of the peak near index `top`, its standard deviation, and how far the shape that
    was fitted does not follow the top, Pa.

    Two shapes are fitted to the samples from the corner on: a run-down from the corner (what a pump
    brought back, or a relief closing, leaves), carried back to where the rise's line meets it; and
    a parabola (a rounded hump). Where both can be had their mean stands, and how far they lie apart
    counts as uncertainty: a few samples do not tell which shape is right.
    """
    if smoothing_s is not None:
        return float(soft[top]), part.noise, 0.0
    corner = _corner(part, top)
    line = _rise_line(part, corner)
    # Counted in samples, so that a shift of the clock by a rounding error moves no edge.
    first = corner + 1
    hump = max(first, top - _samples_in(FIT_S / 2, part.interval_s))
    run_end = first + max(8, _samples_in(RUN_S, part.interval_s))
    hump_end = hump + max(6, _samples_in(FIT_S, part.interval_s))
    fits = [
        _run_down(part.cut(first, run_end), line, ripple),
        _parabola(part.cut(hump, hump_end), ripple),
    ]
    known = [fit for fit in fits if fit is not None]
    if not known:
        near = part.values[max(0, top - 1) : top + 2]
        return float(np.max(near)), part.noise, 0.0
    heights = [height for _, height, _ in known]
    sd = float(np.hypot(min(sd for _, _, sd in known), np.ptp(heights) / 2))
    # What a fit leaves beyond the hold's own fluctuation is not chance, and more samples do not
    # mend it.
    calm = part.noise if ripple is None else ripple.rms
    unlike = [np.sqrt(max(0.0, spread**2 - calm**2)) for spread, _, _ in known]
    return float(np.mean(heights)), sd, float(np.mean(unlike))


def _samples_in(seconds: float, interval_s: float) -> int:
    return int(seconds / interval_s + 0.3)


def _run_down(
    part: Samples, line: tuple[float, float, float] | None, ripple: Ripple | None
) -> tuple[float, float, float] | None:
    """Spread of what is left, height at the corner and its deviation, of a first-order run-down."""
    if len(part) < 5 or line is None:
        return None
    best: tuple[float, float, float] | None = None
    for tau in RUN_DOWNS_S:
        if tau < part.interval_s:
            continue
        corner_s = float(part.times[0]) - part.interval_s / 2
        height, spread, sd = 0.0, 0.0, 0.0
        for _ in range(3):
            x = part.times - corner_s
            basis = columns(np.ones_like(x), np.exp(-x / tau))
            fit, spread = _fitted(part, basis, ripple)
            if fit[1] <= 0:
                break
            height = min(float(fit[0] + fit[1]), float(np.max(part.values)) + 2 * part.noise)
            weights = np.linalg.pinv(basis)
            sd = spread * float(np.linalg.norm(weights.sum(axis=0)))
            at, level, slope = line
            met = at + (height - level) / slope
            corner_s = min(max(met, corner_s - part.interval_s), float(part.times[0]))
        else:
            if best is None or spread < best[0]:
                best = spread, height, sd
    return best


def _parabola(part: Samples, ripple: Ripple | None) -> tuple[float, float, float] | None:
    if len(part) < 5:
        return None
    x = (part.times - part.times[0]) / (part.times[-1] - part.times[0])
    degree = 2 if len(part) >= 8 else 1
    basis = np.vander(x, degree + 1)
    fit, spread = _fitted(part, basis, ripple)
    sd = spread * float(np.sqrt((degree + 1) / len(x)))
    return spread, float(np.max(basis @ fit[: degree + 1])), sd


def _fitted(part: Samples, basis: F64, ripple: Ripple | None) -> tuple[F64, float]:
    """The fit of a basis, with the ripple's line beside it where there are samples enough; and
    the standard deviation of what is left."""
    beside = basis
    length = float(part.times[-1] - part.times[0])
    # Less than a period and a half of (aliased) ripple looks like a run-down itself.
    shows = ripple is not None and ripple.line_hz * length > 1.5
    if ripple is not None and shows and len(part) >= basis.shape[1] + 5:
        angle = 2 * np.pi * ripple.line_hz * (part.times - part.times[0])
        beside = columns(basis, np.cos(angle), np.sin(angle))
    fit, rest = least_squares(beside, part.values)
    free = max(1, len(part) - beside.shape[1])
    return fit, float(np.sqrt(rest @ rest / free))


def _rise_line(part: Samples, corner: int) -> tuple[float, float, float] | None:
    """An instant, the level there and the slope of the rise just before the corner, or None."""
    low = max(0, corner - max(3, round(0.008 / part.interval_s)))
    t, p = part.times[low : corner + 1], part.values[low : corner + 1]
    if len(t) < 2:
        return None
    slope, level = np.polyfit(t - t[0], p, 1)
    return (float(t[0]), float(level), float(slope)) if slope > 0 else None


def _corner(part: Samples, top: int) -> int:
    """Index of the last sample of the rise before `top`: the last that stands clearly below."""
    low, peak = float(np.min(part.values[: top + 1])), float(np.max(part.values[: top + 3]))
    below = np.flatnonzero(part.values[:top] < peak - 0.02 * (peak - low) - 2 * part.noise)
    return int(below[-1]) if len(below) else top
