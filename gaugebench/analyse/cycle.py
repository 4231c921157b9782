"""Cycle time: from the first movement of the actuator to its stop.

Before it moves the actuator is a closed volume: main pressure climbs steeply. As it breaks away the
climb ends in a corner below the load's level, and from there the pressure closes on that level more
slowly while the actuator gathers speed. It moves visibly a little after the corner, the later the
more slowly the pressure climbed, since both follow the flow. Where the load is so light that
hardly any climb is seen, it moves as the lever does. The stop is where the sharp rise towards the
hold leaves the load's level.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from gaugebench.analyse.answers import figure
from gaugebench.analyse.pump import PumpFindings
from gaugebench.analyse.push import Push
from gaugebench.analyse.relief import corner_of
from gaugebench.analyse.rise import Rise
from gaugebench.analyse.samples import Samples, smoothed
from gaugebench.model.figures import Absent, Answer, Window

GATHERS = 0.2
"""First movement lies as long after the corner as the climb takes for this share of the load's
level."""
AT_MOST_S = 0.15
"""And no longer after it than this."""
SPOOL_S = 0.08
"""A spool has opened so far after its lever moved that something moves (common practice, no
source)."""
NEAR_SHARE = 0.01
"""The load's level counts as reached within this share of the climb."""
POINTS = 80
"""The climb is averaged down to about this many points before its corner is sought."""


@dataclass(frozen=True, slots=True)
class Travel:
    """In s. first_s: the first movement; stop_s: the sharp rise begins; and their standard
    deviations."""

    first_s: float
    first_sd: float
    stop_s: float
    stop_sd: float


def cycle_time(found: Mapping[int, PumpFindings]) -> Answer:
    """The cycle time of a loading. Pumps that feed one actuator must all have reached the load."""
    travels = [
        travel
        for _, one in sorted(found.items())
        if one.rise is not None
        and one.hold is not None
        and one.push is not None
        and (travel := find_travel(one.samples, one.rise, one.hold.level, one.push))
    ]
    if not travels:
        return Absent("The pressure rises from idle: no actuator travels before the stop.")
    last = max(travels, key=lambda t: t.first_s)
    start = last.first_s
    stop = float(np.mean([t.stop_s for t in travels]))
    if stop <= start:
        return Absent("The stop cannot be told from the first movement.")
    one = next(f for f in found.values() if f.rise is not None and f.hold is not None)
    window = Window(start, stop, len(one.samples.part(start, stop)))
    parts = {
        "first movement": last.first_sd,
        "stop": max(t.stop_sd for t in travels),
        "time step": one.samples.interval_s / np.sqrt(6),
    }
    return figure(stop - start, "s", parts, window, one.samples.cautions(start, stop))


def find_travel(samples: Samples, rise: Rise, settled: float, push: Push) -> Travel | None:
    """The travel before the final rise, or None where the pump rose from idle."""
    if not rise.from_load:
        return None
    first = _with_lever(push) if push.is_light else _breaks_away(samples, rise, push.span.start_s)
    return None if first is None else Travel(*first, *_foot(samples, rise, settled))


def _with_lever(push: Push) -> tuple[float, float]:
    """A light load moves as soon as its spool opens: within a spool's lag of the lever."""
    return push.span.start_s + SPOOL_S / 2, float(SPOOL_S / np.sqrt(12))


def _breaks_away(samples: Samples, rise: Rise, start_s: float) -> tuple[float, float] | None:
    """When a load breaks away, and how sure that is, s; None where no climb to it is seen."""
    part = samples.part(start_s - 0.1, rise.initial_end_s)
    if len(part) < 8:
        return None
    soft = smoothed(part.values, max(1, round(0.03 / part.interval_s)))
    idle = float(np.min(soft))
    near = rise.initial - NEAR_SHARE * (rise.initial - idle)
    reach = int(np.argmax(soft >= near))
    if soft[reach] < near or reach < 5:
        return None
    upto_s = float(part.times[reach])
    climb = part.part(part.times[0], upto_s + 0.3 * (upto_s - float(part.times[0])))
    step = max(1, len(climb) // POINTS)
    count = len(climb) // step
    t = climb.times[: count * step].reshape(count, step).mean(axis=1)
    p = climb.values[: count * step].reshape(count, step).mean(axis=1)
    last = int(np.searchsorted(t, upto_s))
    corner = corner_of(t, p, 3, max(3, min(last, count - 3)))
    if corner is None:
        return None
    corner_s = min(float(t[corner]), upto_s)
    # How fast it climbed just before the corner.
    low = np.flatnonzero(p[: corner + 1] < idle + 0.5 * (p[corner] - idle))
    since = int(low[-1]) if len(low) else 0
    taken = float(t[corner] - t[since]) / max(float(p[corner] - p[since]), 1.0)
    later = min(GATHERS * rise.initial * taken, upto_s - corner_s, AT_MOST_S)
    return corner_s + later, float((later + samples.interval_s * step) / np.sqrt(3))


def _foot(samples: Samples, rise: Rise, settled: float) -> tuple[float, float]:
    """Where the final rise leaves the load's level: its line carried down to that level."""
    low = rise.initial + 0.15 * (settled - rise.initial)
    high = rise.initial + 0.6 * (settled - rise.initial)
    part = samples.part(rise.initial_end_s, rise.top_s + samples.interval_s)
    on = (part.values > low) & (part.values < high)
    if int(np.sum(on)) >= 2:
        slope, level = np.polyfit(part.times[on] - rise.t50_s, part.values[on], 1)
        if slope > 0:
            return float(rise.t50_s + (rise.initial - level) / slope), samples.interval_s / 4
    below = np.flatnonzero(part.values < low)
    at = float(part.times[below[-1]]) if len(below) else rise.initial_end_s
    return at, samples.interval_s / 2
