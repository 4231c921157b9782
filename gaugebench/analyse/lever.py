"""Whether the lever was not full: the pressure is what the half-shut centre holds back.

With the lever part-way the centre still passes oil, and the pump's flow through it makes the
pressure; no relief opens. The control pressure then stands, at part of full stroke, while main
pressure still climbs: neither the torque limit nor the cut-off lets it stand so. And main closes
on its level exponentially, p′ = (p∞ − p)/τ, so that the climb itself tells where it heads for. A
relief cuts it short of that.
"""

from __future__ import annotations

import numpy as np

from gaugebench.analyse.control import Control
from gaugebench.analyse.hold import Hold
from gaugebench.analyse.rise import Rise
from gaugebench.analyse.samples import Samples, smoothed

PART_SHARE = 0.75
"""A stroke below this share of full is a part of it."""
STOOD_SHARE = 0.05
"""The stroke stands where it is within this share of that in the hold."""
CLIMB_SHARE = 0.1
"""Main climbs by at least this share of the rise after the control pressure has come to stand."""
FROM_SHARE, TO_SHARE = 0.3, 0.9
"""The part of the climb that is looked at."""
STEADY_S = 0.1
"""The chambers' flows have followed the lever so long after it came to stand."""
BINS = (4, 12)
CUT_SHORT = 1.05
"""A climb that heads for more than this times the hold was cut short by a relief."""


def is_part_lever(control: Control, main: Samples, rise: Rise, hold: Hold) -> bool:
    """Whether a hold that the cut-off does not make was made by a lever part-way."""
    if control.servo or not control.full_known or rise.from_load:
        return False
    if not 0.1 < control.settled / control.full < PART_SHARE:
        return False
    part = main.part(rise.foot_s, hold.end_s)
    step = hold.level - rise.initial
    soft = smoothed(part.values, max(1, round(0.02 / part.interval_s)))
    climbed = (soft - rise.initial) / step
    inside = (control.times >= rise.foot_s) & (control.times < hold.end_s)
    times, stroke = control.times[inside], control.soft[inside]
    moving = np.flatnonzero(
        np.abs(stroke - control.settled) > max(STOOD_SHARE * control.settled, 4 * control.noise)
    )
    stood_s = float(times[moving[-1]]) if len(moving) else rise.foot_s
    left = 1.0 - float(np.interp(stood_s, part.times, climbed))
    if left < CLIMB_SHARE:
        return False
    heads_for = _heads_for(part, rise, step, stood_s + STEADY_S)
    return heads_for is not None and heads_for < CUT_SHORT * hold.level


def _heads_for(part: Samples, rise: Rise, step: float, from_s: float) -> float | None:
    """The pressure (Pa) on which a climb closes in after an instant, or None where too little of
    it is seen to tell."""
    soft = smoothed(part.values, max(1, round(0.02 / part.interval_s)))
    climbed = (soft - rise.initial) / step
    high = int(np.argmax(climbed >= TO_SHARE))
    below = np.flatnonzero(climbed[:high] < FROM_SHARE)
    start_s = max(from_s, float(part.times[below[-1]]) if len(below) else from_s)
    end_s = float(part.times[high])
    count = min(BINS[1], int((end_s - start_s) / part.interval_s / 2))
    if count < BINS[0]:
        return None
    if part.gaps(start_s, end_s):
        return None
    edges = np.searchsorted(part.times, np.linspace(start_s, end_s, count + 1))
    if np.any(np.diff(edges) == 0):
        return None
    total = np.concatenate(([0.0], np.cumsum(part.values)))
    means = np.diff(total[edges]) / np.diff(edges)
    slopes = np.diff(means) / ((end_s - start_s) / count)
    rate, offset = np.polyfit((means[1:] + means[:-1]) / 2, slopes, 1)
    return float(-offset / rate) if rate < 0 else None
