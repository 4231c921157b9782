"""The lag of the line between pump and kit, read off a corner whose course is known.

A straight rise seen through a first-order lag τ is s·(x − τ·(1 − exp(−x/τ))): the textbook ramp
response of a first-order system (Ogata, Modern Control Engineering, from memory).
"""

from __future__ import annotations

import numpy as np
import pytest

from gaugebench.analyse.lag import USUAL, find_lag
from gaugebench.analyse.rise import Rise
from gaugebench.analyse.samples import Samples

LEVEL, SETTLED, SLOPE, CORNER = 12e6, 33e6, 200e6, 1.0


def ramp(lag: float, rate: float = 2000.0) -> Samples:
    """From LEVEL at CORNER straight up by SLOPE (Pa/s) until it stands at SETTLED."""
    times = np.arange(0.0, 2.0, 1 / rate)
    x = np.maximum(times - CORNER, 0.0)
    course = LEVEL + SLOPE * (x - lag * (1 - np.exp(-x / lag)))
    values = np.minimum(course, SETTLED) + np.random.default_rng(3).normal(0.0, 1e4, len(times))
    quality = np.zeros(len(times), np.uint16)
    return Samples(times, values, values, quality, noise=1e4, interval_s=1 / rate)


def rise(*, from_load: bool) -> Rise:
    top = CORNER + 0.9 * (SETTLED - LEVEL) / SLOPE
    half = CORNER + 0.5 * (SETTLED - LEVEL) / SLOPE
    return Rise(LEVEL, {"noise": 1e3}, 0.5, 0.99, 980, from_load, 0.99, top, half, {"fit": 1e-4})


@pytest.mark.parametrize("lag", [0.001, 0.0023, 0.0043])
def test_the_lag_of_a_straight_rise_is_found(lag: float) -> None:
    found = find_lag(ramp(lag), rise(from_load=True), SETTLED)
    assert found.found
    assert found.seconds == pytest.approx(lag, abs=0.0003)
    assert abs(found.seconds - lag) < 3 * found.sd


def test_from_idle_there_is_no_corner_and_the_usual_value_stands_in() -> None:
    assert find_lag(ramp(0.0043), rise(from_load=False), SETTLED) == USUAL


def test_too_few_samples_in_the_rise_say_nothing_of_the_lag() -> None:
    assert find_lag(ramp(0.0043, rate=100.0), rise(from_load=True), SETTLED) == USUAL
