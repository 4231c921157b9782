"""Waveform figures against exact second-order step responses, textbooks and signal libraries."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.signal import correlate, correlation_lags

from gaugebench.analyse import waveform
from gaugebench.analyse.waveform import Levels
from gaugebench.model.arrays import F64

UNIT = Levels(0.0, 1.0)


def step_response(zeta: float, wn: float, t: F64) -> F64:
    """Unit step response of wn² / (s² + 2 zeta wn s + wn²), for zeta below 1."""
    root = math.sqrt(1 - zeta**2)
    damped = np.sin(wn * root * t + math.acos(zeta))
    return np.asarray(1 - np.exp(-zeta * wn * t) * damped / root)


def sampled(zeta: float, wn: float = 1.0, rate: float = 200.0) -> tuple[F64, F64]:
    t = np.arange(0, 60 * rate) / rate / wn
    return t, step_response(zeta, wn, t)


# Percent overshoot, times of peak, 10–90 % rise, 50 % instant and 2 % settling (from the step, and
# from the 50 % instant), all times wn: roots of the closed form, K. Ogata, Modern Control
# Engineering, chapter 5 (formulas from memory); the rise times agree to three figures with the
# table that N. S. Nise prints in Control Systems Engineering, chapter 4 (from memory).
EXACT = [
    (0.1, 72.924761, 3.157419, 1.104199, 1.088419, 38.383280, 37.294862),
    (0.2, 52.662060, 3.206375, 1.203430, 1.133267, 19.601904, 18.468637),
    (0.3, 37.232610, 3.293284, 1.321340, 1.182168, 11.230081, 10.047913),
    (0.4, 25.382672, 3.427759, 1.463491, 1.235592, 8.409320, 7.173727),
    (0.5, 16.303353, 3.627599, 1.637573, 1.294039, 8.076349, 6.782310),
    (0.6, 9.478022, 3.926991, 1.854050, 1.358027, 5.942988, 4.584961),
    (0.7, 4.598791, 4.399110, 2.126202, 1.428059, 5.978792, 4.550733),
    (0.8, 1.516462, 5.235988, 2.467493, 1.504590, 3.755841, 2.251252),
    (0.9, 0.152376, 7.207308, 2.882955, 1.587961, 4.699597, 3.111636),
]
COLUMNS = ("zeta", "over", "peak_at", "rise", "t50", "settle_0", "settle_50")


@pytest.mark.parametrize(COLUMNS, EXACT)
def test_second_order_step(
    zeta: float,
    over: float,
    peak_at: float,
    rise: float,
    t50: float,
    settle_0: float,
    settle_50: float,
) -> None:
    t, y = sampled(zeta)
    at, height = waveform.parabolic_peak(y, int(np.argmax(y)))
    assert waveform.overshoot_pct(height, UNIT) == pytest.approx(over, abs=2e-4)
    assert at / 200 == pytest.approx(peak_at, abs=1e-4)
    assert waveform.transition(t, y, UNIT) == pytest.approx(rise, abs=1e-4)
    middle = waveform.crossings(t, y, 0.5, upward=True)
    assert middle[0] == pytest.approx(t50, abs=1e-4)
    assert waveform.settling(t, y, UNIT, 0.02, from_s=0.0) == pytest.approx(settle_0, abs=5e-4)
    from_50 = waveform.settling(t, y, UNIT, 0.02, from_s=float(middle[0]))
    assert from_50 == pytest.approx(settle_50, abs=5e-4)


def test_crossing_agrees_with_a_root_finder() -> None:
    t, y = sampled(0.5, rate=50.0)

    def from_half(x: float) -> float:
        return float(step_response(0.5, 1.0, np.array([x]))[0]) - 0.5

    assert waveform.crossings(t, y, 0.5, upward=True)[0] == pytest.approx(
        brentq(from_half, 0.1, 3.0), abs=1e-4
    )


@pytest.mark.parametrize(
    ("zeta", "wn", "over", "peak_at", "rise", "settle"),
    [
        (0.5, 10.0, 16.30335, 0.362760, 0.163757, 0.807635),
        # Ogata, Modern Control Engineering, chapter 5, worked example (from memory)
        (0.6, 5.0, 9.478, 0.785398, 0.370810, 1.188598),
        # Nise, Control Systems Engineering, chapter 4: 100 / (s² + 15 s + 100) (from memory)
        (0.75, 10.0, 2.837544, 0.474964, 0.228754, 0.574261),
    ],
)
def test_textbook_examples(
    zeta: float, wn: float, over: float, peak_at: float, rise: float, settle: float
) -> None:
    t, y = sampled(zeta, wn, rate=500.0)
    at, height = waveform.parabolic_peak(y, int(np.argmax(y)))
    assert waveform.overshoot_pct(height, UNIT) == pytest.approx(over, abs=1e-3)
    assert at / 500 / wn == pytest.approx(peak_at, abs=1e-5)
    assert waveform.transition(t, y, UNIT) == pytest.approx(rise, abs=1e-5)
    assert waveform.settling(t, y, UNIT, 0.02, from_s=0.0) == pytest.approx(settle, abs=1e-4)


def test_exercise_of_a_textbook() -> None:
    # Nise, Control Systems Engineering, chapter 4: 361 / (s² + 16 s + 361) (from memory)
    t, y = sampled(16 / 2 / 19, 19.0, rate=500.0)
    at, height = waveform.parabolic_peak(y, int(np.argmax(y)))
    assert waveform.overshoot_pct(height, UNIT) == pytest.approx(23.262, abs=1e-3)
    assert at / 500 / 19 == pytest.approx(0.182294, abs=1e-5)
    assert waveform.transition(t, y, UNIT) == pytest.approx(0.078799, abs=1e-5)


def test_damping_from_overshoot() -> None:
    # zeta = −ln(OS) / √(π² + ln²(OS)), the textbook inversion (Ogata, chapter 5, from memory)
    _, y = sampled(0.5)
    _, height = waveform.parabolic_peak(y, int(np.argmax(y)))
    log = math.log(waveform.overshoot_pct(height, UNIT) / 100)
    assert -log / math.hypot(math.pi, log) == pytest.approx(0.5, abs=1e-5)


def test_first_order_step() -> None:
    # Exact: rise ln 9 · tau, settling ln 50 · tau (2 %) and ln 20 · tau (5 %)
    tau = 0.08
    t = np.arange(0, 20_000) / 20_000
    y = 1 - np.exp(-t / tau)
    assert waveform.transition(t, y, UNIT) == pytest.approx(math.log(9) * tau, rel=1e-5)
    for share in (0.02, 0.05):
        got = waveform.settling(t, y, UNIT, share, from_s=0.0)
        assert got == pytest.approx(-math.log(share) * tau, rel=1e-4)


@pytest.mark.parametrize("zeta", [0.3, 0.6, 0.9])
def test_settling_keeps_below_the_sample_interval(zeta: float) -> None:
    """At 25 samples per 1/wn the settling still comes out far inside one interval."""
    t, y = sampled(zeta, rate=25.0)
    exact = next(row for row in EXACT if row[0] == zeta)
    first = float(waveform.crossings(t, y, 0.5, upward=True)[0])
    assert waveform.settling(t, y, UNIT, 0.02, from_s=first) == pytest.approx(exact[6], abs=0.008)


def test_state_levels() -> None:
    """Two plateaus with a ramp between and an even noise of ± 0.5: each within half a bin."""
    draw, noise = 12345, []
    for _ in range(2000):  # a linear congruential generator, so that the numbers are the same ever
        draw = (1103515245 * draw + 12345) % 2**31
        noise.append(draw / 2**31 - 0.5)
    ramp = 10 + 200 * np.arange(200) / 200
    clean = np.concatenate((np.full(900, 10.0), ramp, np.full(900, 210.0)))
    found = waveform.state_levels(clean + np.array(noise))
    assert found.low == pytest.approx(10, abs=1.01)
    assert found.high == pytest.approx(210, abs=1.01)
    with pytest.raises(ValueError, match="differ"):
        waveform.state_levels(np.full(10, 3.0))


def test_parabolic_peak() -> None:
    # The example of the interpolation formula of J. O. Smith, Spectral Audio Signal Processing
    # (“Quadratic Interpolation of Spectral Peaks”), as the open library scidart prints it
    got = waveform.parabolic_peak(np.array([2.0, 3, 1, 6, 4, 2, 3, 1]), 3)
    assert got == pytest.approx((3.2142857142857144, 6.1607142857142856), abs=1e-12)
    with pytest.raises(ValueError, match="neighbour"):
        waveform.parabolic_peak(np.array([3.0, 2, 1]), 0)
    with pytest.raises(ValueError, match="line"):
        waveform.parabolic_peak(np.array([1.0, 2, 3]), 1)


@pytest.mark.parametrize("delay_ms", [12.3, -7.25])
def test_lag_of_pulses(delay_ms: float) -> None:
    t = np.arange(2000) / 1000

    def pulse(late: float) -> F64:
        return np.asarray(np.exp(-(((t - 0.5 - late) / 0.05) ** 2)))

    first, second = pulse(0.0), pulse(delay_ms / 1000)
    got = waveform.lag_samples(first, second, of_steps=False)
    assert got == pytest.approx(delay_ms, abs=1e-3)
    # the same by scipy.signal, whole samples refined by the parabola
    correlation = correlate(second, first)
    at, _ = waveform.parabolic_peak(correlation, int(np.argmax(correlation)))
    lags = correlation_lags(len(second), len(first))
    assert got == pytest.approx(at + lags[0], abs=1e-9)


def test_lag_of_steps_needs_the_slopes() -> None:
    t = np.arange(2000) / 1000

    def rise(start: float) -> F64:
        return np.asarray(np.where(t < start, 0.0, 1 - np.exp(-np.maximum(t - start, 0) / 0.08)))

    first, second = rise(0.5), rise(0.5375)
    assert waveform.lag_samples(first, second) == pytest.approx(37.5, abs=0.02)
    assert abs(waveform.lag_samples(first, second, of_steps=False)) < 1.0  # blind to the lag
    with pytest.raises(ValueError, match="one length"):
        waveform.lag_samples(first, second[:-1])


@pytest.mark.parametrize(
    ("rate", "seen"), [(1000, 300.0), (500, 200.0), (250, 50.0), (200, 100.0), (100, 0.0)]
)
def test_alias_is_where_the_spectrum_shows_it(rate: int, seen: float) -> None:
    assert waveform.alias_hz(300.0, rate) == pytest.approx(seen, abs=1e-9)
    samples = np.sin(2 * np.pi * 300.0 * np.arange(4 * rate) / rate + 0.3)
    spectrum = np.abs(np.fft.rfft(samples))
    assert np.fft.rfftfreq(len(samples), 1 / rate)[int(np.argmax(spectrum))] == pytest.approx(seen)


def test_what_cannot_be_had() -> None:
    t = np.arange(10.0)
    ramp = t / 20
    assert waveform.transition(t, ramp, UNIT) is None
    assert waveform.settling(t, ramp, UNIT, 0.02) is None
    assert waveform.last_entry(t, ramp, 1.0, 0.02) is None
    assert waveform.last_entry(t, ramp, 0.0, 1.0) == 0.0
    with pytest.raises(ValueError, match="step"):
        waveform.overshoot_pct(1.0, Levels(1.0, 1.0))


@given(
    scale=st.floats(1e-3, 1e6),
    shift=st.floats(-1e3, 1e3),
    late=st.floats(-100, 100),
)
def test_unit_and_time_do_not_matter(scale: float, shift: float, late: float) -> None:
    """Rise and settling keep under a change of unit, of level and of clock."""
    t, y = sampled(0.5, rate=40.0)
    other = Levels(shift * scale, (1 + shift) * scale)
    moved = (y + shift) * scale
    assert waveform.transition(t + late, moved, other) == pytest.approx(
        waveform.transition(t, y, UNIT), abs=1e-6
    )
    assert waveform.settling(t + late, moved, other, 0.02 * scale) == pytest.approx(
        waveform.settling(t, y, UNIT, 0.02), abs=1e-6
    )
