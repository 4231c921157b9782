"""The value of a series at an instant, and the difference between two. No Qt."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from gaugebench.desk.plot.gaps import GAP_STEPS, usual_step
from gaugebench.model.channel import Channel
from gaugebench.model.trace import Series, Trace


def value_at(series: Series, time_s: float) -> float:
    """The sample nearest to an instant; NaN in a gap, before the first and after the last."""
    times = series.times
    if not len(times):
        return math.nan
    after = int(np.searchsorted(times, time_s))
    near = [i for i in (after - 1, after) if 0 <= i < len(times)]
    best = min(near, key=lambda i: abs(float(times[i]) - time_s))
    step = usual_step(times)
    reach = GAP_STEPS / 2 * step if math.isfinite(step) else 0.5
    return float(series.values[best]) if abs(float(times[best]) - time_s) <= reach else math.nan


@dataclass(frozen=True, slots=True)
class Reading:
    """One channel at two instants, inside units."""

    channel: Channel
    first: float
    second: float

    @property
    def difference(self) -> float:
        """Second less first."""
        return self.second - self.first


def readings(first: Trace, second: Trace, first_s: float, second_s: float) -> list[Reading]:
    """Every channel at two instants; first, second: the samples about each."""
    return [
        Reading(one.channel, value_at(one, first_s), value_at(other, second_s))
        for one, other in zip(first.series, second.series, strict=True)
    ]
