"""Speed from ripple: on sines of known frequency, in noise, with harmonics, and refused."""

import numpy as np
import pytest

from gaugebench.analyse.pistons import speed_from_ripple
from gaugebench.model.arrays import F64
from gaugebench.model.figures import Absent, Answer, Figure


def hold(
    rpm: float,
    *,
    rate: float = 1000.0,
    seconds: float = 1.5,
    pistons: int = 9,
    noise: float = 0.6,
    second: float = 0.3,
    seed: int = 0,
) -> tuple[F64, F64]:
    """A hold at 340 bar with 1 bar of piston ripple, a second harmonic and noise, Pa."""
    rng = np.random.default_rng(seed)
    t = np.arange(int(seconds * rate)) / rate
    turn = 2 * np.pi * pistons * rpm / 60 * t + rng.uniform(0, 6.3)
    bars = 340 + np.sin(turn) + second * np.sin(2 * turn + 1) + noise * rng.standard_normal(len(t))
    return t, bars * 1e5


def figure(answer: Answer) -> Figure:
    assert isinstance(answer, Figure), answer
    return answer


@pytest.mark.parametrize("rpm", [900.0, 1500.0, 1873.4, 2210.0])
def test_speed(rpm: float) -> None:
    # piston-pass frequency: pistons × rpm / 60 (H. E. Merritt, Hydraulic Control Systems, from
    # memory): 9 pistons at 2000 rpm give 300 Hz
    found = figure(speed_from_ripple(*hold(rpm), 9))
    assert found.expanded is not None
    assert abs(found.value - rpm) <= 2 * found.expanded
    assert found.expanded < 5.0


def test_drive_ratio() -> None:
    found = figure(speed_from_ripple(*hold(1800.0, pistons=7), 7, drive_ratio=0.9))
    assert found.value == pytest.approx(2000.0, abs=2.0)


def test_interval_holds_the_speed() -> None:
    """k = 2 should hold about 95 %; with so few dof in the wander, at least 88 %."""
    held = []
    for seed in range(200):
        rpm = 1000 + 6.5 * seed
        found = figure(speed_from_ripple(*hold(rpm, seed=seed), 9))
        assert found.expanded is not None
        held.append(abs(found.value - rpm) <= found.expanded)
    assert 0.88 <= np.mean(held) <= 1.0


@pytest.mark.parametrize("rate", [100.0, 250.0, 500.0])
def test_aliased_ripple_is_refused(rate: float) -> None:
    """At 250 samples a second the 300 Hz of 2000 rpm would show at 50 Hz, as if at 333 rpm."""
    found = speed_from_ripple(*hold(2000.0, rate=rate, seconds=4.0), 9)
    assert isinstance(found, Absent)
    assert "aliased" in found.reason


def test_second_harmonic_that_folds_back() -> None:
    """A strong second harmonic at 2 × 333 Hz shows at 1000 − 667 Hz, far from the first."""
    found = speed_from_ripple(*hold(2400.0, second=1.2), 9)
    if isinstance(found, Figure):
        assert found.value == pytest.approx(2400.0, abs=2.0)
    else:
        assert "aliased" in found.reason


def test_speed_that_cannot_be_had() -> None:
    t, values = hold(1500.0, noise=0.6, second=0.0)
    quiet = np.full(len(t), 340e5) + np.random.default_rng(1).standard_normal(len(t)) * 1e5
    holed = values.copy()
    holed[100] = np.nan
    uneven = t.copy()
    uneven[700:] += 0.05
    for times, pressures, pistons, word in (
        (t, values, None, "pistons"),
        (t[:50], values[:50], 9, "too few"),
        (t, holed, 9, "gap"),
        (uneven, values, 9, "even"),
        (t, quiet, 9, "stands out"),
    ):
        found = speed_from_ripple(times, pressures, pistons)
        assert isinstance(found, Absent), word
        assert word in found.reason
