"""The shape of a knee against the equations of a valve, integrated by a general library."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from gaugebench.analyse.kneemodel import shown
from gaugebench.model.arrays import F64

SLOPE, CURVE, DRIFT = 900.0, 4000.0, -3000.0
"""bar/s before the knee, bar/s² before it, bar/s² after it."""


def integrated(times: F64, tau: float, opening: float, lag: float) -> F64:
    """Record above the crack of p′ = s(t) − v, T v′ = p/τ − v after the knee, seen through λ."""

    def before(t: F64) -> F64:
        # what a lag shows of s·x + c·x²/2 that has gone on for long
        return np.asarray(SLOPE * (t - lag) + CURVE * (t * t / 2 - lag * t + lag * lag))

    def rate(t: float, y: F64) -> list[float]:
        p, v, z = y
        return [SLOPE + DRIFT * t - v, (p / tau - v) / opening, (p - z) / lag]

    found = solve_ivp(
        rate, (0, times[-1]), [0.0, 0.0, float(before(np.zeros(1))[0])], t_eval=times[times > 0],
        rtol=1e-10, atol=1e-9,
    )  # fmt: skip
    return np.concatenate((before(times[times <= 0]), found.y[2]))


@pytest.mark.parametrize(
    ("tau", "opening", "lag"),
    [
        (0.010, 0.001, 0.002),  # stiff against its lag: two real poles
        (0.004, 0.004, 0.0015),  # slow: it rings
        (0.040, 0.0005, 0.003),
        (0.008, 0.00201, 0.001),  # two poles that all but fall together
    ],
)
def test_the_shape_is_that_of_the_equations(tau: float, opening: float, lag: float) -> None:
    times: F64 = np.linspace(-0.02, 0.08, 101)
    columns = shown(times, np.array([[0.0, tau, opening, lag]]))[0]
    model = columns[:, 1] * SLOPE + columns[:, 2] * CURVE + columns[:, 3] * DRIFT
    want = integrated(times, tau, opening, lag)
    assert np.max(np.abs(model - want)) < 0.01 * tau * SLOPE
    assert np.all(columns[:, 0] == 1.0)


def test_the_plateau_is_crack_plus_time_constant_times_slope() -> None:
    # whatever the valve's own lag: that of p′ = s − (p − crack)/τ
    late = np.array([1.0])
    for opening in (0.0005, 0.002, 0.006):
        ((_, stays_below, _, _),) = shown(late, np.array([[0.0, 0.01, opening, 0.002]]))[0]
        assert stays_below == pytest.approx(0.01, rel=1e-6)
