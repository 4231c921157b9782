"""Budgets of pressure figures: against closed forms, simulation and JCGM 100."""

import math

import numpy as np
import pytest

from gaugebench.analyse import budget
from gaugebench.analyse.uncertainty import expanded
from gaugebench.model.channel import Channel, Transducer
from gaugebench.model.conditioning import Chain
from gaugebench.model.figures import Absent, Figure

CHANNEL = Channel(
    "P1",
    chain=Chain(range_low=0.0, range_high=600e5),
    transducer=Transducer(accuracy_pct_fs=0.5),
    step=600e5 / 4096,
)


def test_parts_of_a_reading() -> None:
    # 0.5 % of 600 bar is 3 bar at k = 2; the 12-bit step by JCGM 100:2008 F.2.2.1
    got = budget.of_reading(CHANNEL, zero_standard=0.1e5)
    assert got.parts == pytest.approx(
        {"transducer accuracy": 1.5e5, "converter step": 4228.64, "zero": 0.1e5}, rel=1e-5
    )
    figure = got.plus({"ripple": 0.2e5, "nothing": 0.0}).figure(343e5)
    assert "nothing" not in figure.parts
    assert figure.expanded == pytest.approx(2 * math.hypot(1.5e5, 4228.64, 0.1e5, 0.2e5), rel=1e-6)
    assert figure.cautions == ()


def test_unknown_accuracy_is_said() -> None:
    got = budget.of_reading(Channel("P1", step=100.0))
    assert got.cautions == (budget.ACCURACY_UNKNOWN,)
    assert list(got.parts) == ["converter step"]
    assert budget.for_verdict(got.figure(343e5)) is None
    known = budget.of_reading(CHANNEL).figure(343e5)
    assert budget.for_verdict(known) == known.expanded


def test_held_mean_of_white_noise_is_s_over_root_n() -> None:
    rng = np.random.default_rng(4)
    values = 340e5 + 0.5e5 * rng.standard_normal(4000)
    found = budget.held_mean(values)
    assert found.deviation == pytest.approx(0.5e5, rel=0.05)
    assert found.standard == pytest.approx(0.5e5 / math.sqrt(4000), rel=0.5)
    short = budget.held_mean(values[:20])
    assert short.standard == pytest.approx(float(np.std(values[:20], ddof=1)) / math.sqrt(20))


def test_held_mean_of_dependent_samples_holds_the_truth() -> None:
    """Noise that wanders over 20 samples: s / √n would claim far too little."""
    rng = np.random.default_rng(5)
    held, naive = 0, 0
    for _ in range(400):
        white = rng.standard_normal(2020)
        wander = np.convolve(white, np.ones(20) / 20, "valid")
        found = budget.held_mean(wander)
        held += abs(found.mean) <= 2 * found.standard
        naive += abs(found.mean) <= 2 * found.deviation / math.sqrt(found.count)
    assert 0.90 <= held / 400 <= 0.99
    assert naive / 400 < 0.5


def test_held_mean_skips_what_is_missing() -> None:
    values = np.array([1.0, np.nan, 3.0])
    assert budget.held_mean(values).mean == 2.0
    assert budget.held_mean(values).count == 2
    assert math.isinf(budget.held_mean(np.full(40, 7.0)).effective)
    with pytest.raises(ValueError, match="two values"):
        budget.held_mean(values[:2])


@pytest.mark.parametrize("frequency", [0.3, 1.7, 12.0])
def test_ripple_of_mean_bounds_a_sine(frequency: float) -> None:
    """Over random phases the mean of a sine scatters by no more than is stated."""
    span, rms = 1.0, 1.0
    t = (np.arange(2000) + 0.5) / 2000 * span
    phases = np.linspace(0, 2 * np.pi, 64, endpoint=False)[:, None]
    means = (math.sqrt(2) * rms * np.sin(2 * np.pi * frequency * t + phases)).mean(axis=1)
    assert float(np.std(means)) <= budget.ripple_of_mean(rms, frequency, span) * 1.001


def test_crossing() -> None:
    # 2000 bar/s with 0.4 bar of noise at 100 Hz, channels up to 2 ms apart
    parts = budget.of_crossing(2000e5, 0.4e5, 0.01, 0.002)
    assert parts == pytest.approx(
        {
            "time resolution": 0.01 / math.sqrt(12),
            "noise over slope": 0.0002,
            "channel skew": 0.002 / math.sqrt(3),
        }
    )
    assert budget.of_instant(-2000e5, 0.01) == pytest.approx(20e5 / math.sqrt(12))
    with pytest.raises(ValueError, match="does not move"):
        budget.of_crossing(0.0, 1.0, 0.01)


def pressure(bar: float, accuracy_bar: float = 1.5, noise_bar: float = 0.2) -> Figure:
    parts = {budget.ACCURACY: accuracy_bar * 1e5, budget.NOISE: noise_bar * 1e5}
    return Figure(bar * 1e5, "Pa", expanded(parts), parts)


def test_imbalance() -> None:
    apart = budget.imbalance(pressure(340), pressure(350))
    assert isinstance(apart, Figure)
    assert apart.value == pytest.approx(-2.898551, abs=1e-6)
    # the sensitivities by differences: JCGM 100:2008 5.1.3, note 2
    slope = 200 * ((340.01 - 350) / 690.01 - (340 - 350) / 690) / 0.01
    other = 200 * ((340 - 350.01) / 690.01 - (340 - 350) / 690) / 0.01
    assert apart.parts[budget.ACCURACY] == pytest.approx(1.5 * math.hypot(slope, other), rel=1e-4)
    together = budget.imbalance(pressure(340), pressure(350), correlation=1.0)
    assert isinstance(together, Figure)
    assert together.parts[budget.ACCURACY] == pytest.approx(1.5 * abs(slope + other), rel=1e-2)
    assert together.parts[budget.NOISE] == pytest.approx(apart.parts[budget.NOISE])


def test_imbalance_that_cannot_be_had() -> None:
    missing = Absent("the channel is stuck")
    for pair in ((missing, pressure(340)), (pressure(340), missing)):
        found = budget.imbalance(*pair)
        assert isinstance(found, Absent)
        assert "stuck" in found.reason
    assert isinstance(budget.imbalance(pressure(0.0), pressure(0.0)), Absent)


def test_overshoot_is_free_of_zero_and_gain() -> None:
    """Errors of zero, gain and a bow within the class move overshoot by less than is stated."""
    peak, settled, initial = pressure(365, 1.5, 0), pressure(340, 1.5, 0), pressure(25, 1.5, 0)
    stated = budget.overshoot_parts(peak, settled, initial)[budget.ACCURACY]
    true = 100 * 25 / 315

    def read(bar: float) -> float:
        return 1.2 + 1.004 * bar + 1.5 * 4 * (bar / 600) * (1 - bar / 600)

    got = 100 * (read(365) - read(340)) / (read(340) - read(25))
    assert 0 < abs(got - true) < 2 * stated < 0.3
    # Read low by a quarter of the class (3 bar at k = 2) on the way up, no more after turning.
    late = 100 * (365 - 0.75 - 340) / 315
    hysteresis = budget.overshoot_parts(peak, settled, initial)[budget.HYSTERESIS]
    assert abs(late - true) == pytest.approx(hysteresis, rel=0.01)
    with pytest.raises(ValueError, match="step"):
        budget.overshoot_parts(peak, initial, initial)
