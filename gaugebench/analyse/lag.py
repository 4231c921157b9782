"""The lag from the pump's outlet to the record: hose, transducer and filter, as one first order.

Where an actuator runs against its stop the pressure at the pump breaks from level into a straight
rise at one instant; the record rounds that corner by its lag, which can be read off there.
Elsewhere a usual value stands in, with a wide uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse.fit import columns, least_squares
from gaugebench.analyse.rise import Rise
from gaugebench.analyse.samples import Samples

USUAL_S = 0.002
"""A few metres of hose and a transducer's filter (common practice, no source)."""
USUAL_SD_S = 0.0012
TRIED_S = 1e-3 * np.array([0.0, 0.3, 0.6, 1.0, 1.4, 1.8, 2.3, 2.8, 3.5, 4.3, 5.5])


@dataclass(frozen=True, slots=True)
class Lag:
    """seconds, sd: s. found: read off the trace, not the usual value."""

    seconds: float
    sd: float
    found: bool

    @property
    def behind(self) -> float:
        """Standard uncertainty of an instant that is left where the record shows it, s.

        An instant is a figure of the record, the same for everyone who reads it, and is not moved
        to where the pump had it; what is not corrected counts as uncertainty (JCGM 100 6.3.1,
        note): the lag, and how little it is known.
        """
        return float(np.hypot(self.seconds, self.sd))


USUAL = Lag(USUAL_S, USUAL_SD_S, found=False)


def find_lag(main: Samples, rise: Rise, settled: float) -> Lag:
    """The lag of a main pressure, from the corner at the foot of a rise from a load's level."""
    if not rise.from_load:
        return USUAL
    step = settled - rise.initial
    upto = main.part(rise.foot_s, rise.top_s + main.interval_s)
    high = np.flatnonzero(upto.values > rise.initial + 0.75 * step)
    if not len(high):
        return USUAL
    end_s = float(upto.times[high[0]])
    part = main.part(max(rise.foot_s, end_s - 0.25), end_s)
    if len(part) < 14:
        return USUAL
    part = part.part(_start(part, rise, step) - 0.03, end_s)
    climbing = int(np.sum(part.values > rise.initial + 0.08 * step))
    if climbing < 6 or len(part) < 14:
        return USUAL
    t, y = part.times, part.values - rise.initial
    foot = _start(part, rise, step)
    costs = []
    for lag in TRIED_S:
        best = np.inf
        for at in np.arange(foot - 0.012, foot + 0.004, 0.00025):
            x = np.maximum(t - at, 0.0)
            if lag > 0:
                fade = np.exp(-x / lag)
                first = x - lag * (1 - fade)
                second = x * x / 2 - lag * x + lag * lag * (1 - fade)
            else:
                first, second = x, x * x / 2
            rest = least_squares(columns(np.ones_like(x), first, second), y)[1]
            best = min(best, float(rest @ rest))
        costs.append(best)
    cost = np.array(costs)
    variance = max(float(np.min(cost)) / (len(t) - 5), 1.0)
    weight = np.exp(-np.minimum((cost - np.min(cost)) / variance / 2, 50.0))
    # The usual value takes part as what was known before.
    weight = weight * np.exp(-0.5 * ((TRIED_S - USUAL_S) / USUAL_SD_S) ** 2)
    width = np.gradient(TRIED_S)
    weight = weight * width / np.sum(weight * width)
    mean = float(np.sum(weight * TRIED_S))
    sd = float(np.sqrt(np.sum(weight * (TRIED_S - mean) ** 2)))
    return Lag(mean, max(sd, 0.0002), found=True)


def _start(part: Samples, rise: Rise, step: float) -> float:
    """The last instant below 8 % of the rise."""
    low = np.flatnonzero(part.values < rise.initial + 0.08 * step)
    return float(part.times[low[-1]]) if len(low) else float(part.times[0])
