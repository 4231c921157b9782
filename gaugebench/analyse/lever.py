"""Whether the lever was not full: the pressure is what the half-shut centre holds back.

With the lever part-way the centre still passes oil, and the pump's flow through it makes the
pressure; no relief opens. The control pressure then stands, at part of full stroke, while main
pressure still climbs: neither the torque limit nor the cut-off lets it stand so. And main closes on
its level ever more slowly, as a flow through an orifice does, whereas a relief cuts a rise short.
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
ROUND = 0.65
"""Time from 90 to 98 % of the rise against that from 50 to 90 %: one where a pressure closes in
exponentially, a fifth where a straight rise is cut short."""


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
    ends = []
    for share in (0.5, 0.9, 0.98):
        below = np.flatnonzero(climbed[part.times < hold.start_s] < share)
        ends.append(float(part.times[below[-1]]) if len(below) else rise.foot_s)
    half, most, all_but = ends
    return all_but - most > ROUND * max(most - half, 2 * part.interval_s)
