"""The largest pressure of a loading, with and without ripple and noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse.hold import Hold
from gaugebench.analyse.rise import Rise
from gaugebench.analyse.samples import Samples, smoothed


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


def find_peak(samples: Samples, rise: Rise, hold: Hold, smoothing_s: float | None) -> Peak | None:
    """The peak between the start of the rise and the drop, or None where there are no samples."""
    part = samples.part(rise.foot_s, hold.drop_s + samples.interval_s / 2)
    if len(part) < 3:
        return None
    width = _width(part, smoothing_s)
    soft = smoothed(part.values, width)
    early = part.times < max(hold.start_s, rise.top_s + 0.05)
    calm = soft[~early]
    swing = float(np.max(calm) - hold.level) if len(calm) else 0.0
    if early.any():
        top = int(np.argmax(np.where(early, soft, -np.inf)))
        above = float(soft[top]) - hold.level
    else:
        top, above = 0, 0.0
    raw_at = int(np.argmax(part.raw))
    near = part.values[max(0, raw_at - 1) : raw_at + 2]
    one = bool(part.raw[raw_at] - np.max(near) > 4 * part.noise)
    sd = part.noise / np.sqrt(max(1, width))
    plain = above > 1.3 * max(swing, 0.0) + 2 * sd
    pressure = hold.level + above - 0.5 * max(swing, 0.0) if plain else hold.level
    return Peak(
        pressure, float(sd), float(part.times[top]), plain,
        float(part.raw[raw_at]), float(part.times[raw_at]), one,
    )  # fmt: skip


def _width(part: Samples, smoothing_s: float | None) -> int:
    if smoothing_s is not None:
        return max(1, round(smoothing_s / part.interval_s))
    return max(1, round(0.012 / part.interval_s))


def settle_time(samples: Samples, rise: Rise, hold: Hold, share: float) -> float | None:
    """Time (s) from t50 until the pressure stays within ± share of settled up to the drop."""
    part = samples.part(rise.foot_s, hold.end_s)
    soft = smoothed(part.values, max(1, round(0.01 / part.interval_s)))
    band = share * abs(hold.level)
    out = np.flatnonzero(np.abs(soft - hold.level) > band)
    if not len(out):
        return None
    i = int(out[-1])
    if i + 1 >= len(soft):
        return None
    a, b = float(soft[i]) - hold.level, float(soft[i + 1]) - hold.level
    edge = band if a > 0 else -band
    part_of = (edge - a) / (b - a) if b != a else 0.5
    at = float(part.times[i] + part_of * (part.times[i + 1] - part.times[i]))
    return max(0.0, at - rise.t50_s)
