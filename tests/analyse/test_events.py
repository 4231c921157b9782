"""Knee, onset, lag, travel and plateaus on pressures made by stepping the physics, truth known."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from gaugebench.analyse.figures import analyse
from gaugebench.analyse.kneefit import fit_knee
from gaugebench.analyse.lag import USUAL, Lag
from gaugebench.analyse.ripple import Ripple, ripple_of
from gaugebench.model.arrays import F64
from gaugebench.model.figures import Absent, Event, Figure, Limiter, PumpFigures
from gaugebench.model.trace import Trace

STEP_S = 5e-5
CRACK = 31e6
Make = Callable[..., Trace]


def lagged(values: F64, lag_s: float, step_s: float = STEP_S) -> F64:
    """First-order lag, stepped exactly for inputs that are held between steps."""
    keep = np.exp(-step_s / lag_s)
    out, now = np.empty_like(values), float(values[0])
    for i, value in enumerate(values):
        now = keep * now + (1 - keep) * float(value)
        out[i] = now
    return out


def rise_over_relief(slope: float, tau_s: float, lag_s: float) -> tuple[F64, F64, float]:
    """Times, record and crack instant of dp/dt = s − (p − crack)⁺/τ from 20 MPa upwards."""
    times: F64 = np.arange(0, 0.3, STEP_S, dtype=np.float64)
    pressure, p = np.empty_like(times), 20e6
    for i in range(len(times)):
        pressure[i] = p
        p += STEP_S * (slope - max(0.0, p - CRACK) / tau_s)
    return times, lagged(pressure, lag_s), (CRACK - 20e6) / slope


@pytest.mark.parametrize("slope", [80e6, 250e6, 500e6])
@pytest.mark.parametrize("tau_ms", [2.0, 4.0])
def test_the_crack_is_told_from_the_corner_above_it(slope: float, tau_ms: float) -> None:
    times, record, crack_s = rise_over_relief(slope, tau_ms / 1e3, 0.0015)
    part = np.flatnonzero((times > crack_s - 0.02) & (times < crack_s + 0.03))[::20]  # 1 kHz
    t, p = times[part], record[part]
    p = p + np.random.default_rng(1).normal(0, 5e4, len(p))
    rest = Ripple(peak_to_peak=3e5, rms=5e4, line_hz=0.0, line=0.0)
    lag = Lag(0.0015, 0.0003, found=True)
    knee = fit_knee(t, p, (crack_s + 0.003,), rest, lag)
    assert knee is not None
    corner = CRACK + tau_ms / 1e3 * slope  # what two straight lines would give: far off
    assert abs(knee.crack - CRACK) < max(0.5 * (corner - CRACK), 1.5e5)
    assert abs(knee.crack - CRACK) < 2.5 * np.hypot(knee.crack_sd, knee.crack - knee.late)
    assert knee.crack_s == pytest.approx(crack_s, abs=0.0025)
    assert knee.corner == pytest.approx(corner, rel=0.004)


def test_a_fit_needs_samples() -> None:
    times = np.linspace(0, 0.05, 6)
    assert fit_knee(times, np.linspace(0, 5e4, 6), (0.03,), None, USUAL) is None


def stall(
    rate: float,
    cut_off: float | None = None,
    torque_slide: float = 0.0,
    lag_s: float = 0.002,
    noise: float = 0.002,
    seed: int = 3,
) -> dict[str, F64]:
    """A stall at full stroke: main climbs at 200 MPa/s from 2.5 MPa at 2 s, relief at 31 MPa.

    The stroke signal rises from 0.4 MPa before; at the cut-off pressure it runs down (25 ms) to
    0.7 MPa and the pressure is held there. `torque_slide`: MPa that it gives way as main climbs.
    """
    times = np.arange(0, 7, STEP_S)
    main, control = np.empty_like(times), np.empty_like(times)
    p, c, cut = 2.5e6, 0.4e6, False
    for i, t in enumerate(times):
        main[i], control[i] = p, c
        on = 2.0 <= t < 6.0
        wanted = 0.4e6
        if 1.7 <= t < 6.0:
            wanted = 2.6e6 - torque_slide * max(0.0, p - 15e6) / 16e6
        if cut_off is not None and on and p >= cut_off:
            cut = True
        if t >= 6.0:
            cut = False
        if cut and cut_off is not None:
            c += STEP_S / 0.025 * (0.7e6 - c)
            p += STEP_S / 0.06 * (cut_off + 0.1e6 - p)
            continue
        c += STEP_S / 0.03 * (wanted - c)
        flow = 200e6 if on else -60e6 * (p - 2.5e6) / 10e6
        p += STEP_S * (flow - max(0.0, p - CRACK) / 0.004)
    pilot = np.full_like(times, 3.6e6)
    pick = slice(None, None, round(1 / rate / STEP_S))
    random = np.random.default_rng(seed)

    def seen(values: F64, scale: float) -> F64:
        return lagged(values, lag_s)[pick] + random.normal(0, noise * scale, len(times[pick]))

    return {
        "times": times[pick],
        "pilot": seen(pilot, 1e6),
        "pump1.main": seen(main, 3e7),
        "pump1.control": seen(control, 3e6),
    }


def only(make: Make, columns: dict[str, F64]) -> PumpFigures:
    times = columns.pop("times")
    (loading,) = analyse(make(times, columns)).loadings
    return loading.pumps[1]


@pytest.mark.parametrize("rate", [200, 500, 2000])
def test_a_pump_over_relief_has_a_crack_and_no_onset(made_up: Make, rate: float) -> None:
    pump = only(made_up, stall(rate))
    assert pump.limited_by.limiter is Limiter.RELIEF
    assert isinstance(pump.relief_crack, Event)
    assert isinstance(pump.relief_crack.pressure, Figure)
    assert pump.relief_crack.pressure.value == pytest.approx(CRACK, rel=0.01)
    assert isinstance(pump.destroke_onset, Absent)
    assert isinstance(pump.settled, Figure)
    assert pump.settled.value == pytest.approx(31.8e6, rel=0.002)
    assert isinstance(pump.override, Figure)
    assert pump.override.value == pytest.approx(100 * 0.8 / 31, abs=1.1)


@pytest.mark.parametrize("rate", [200, 500, 2000])
@pytest.mark.parametrize("slide", [0.0, 0.5e6])
def test_a_cut_off_has_an_onset_and_no_crack(made_up: Make, rate: float, slide: float) -> None:
    pump = only(made_up, stall(rate, cut_off=28e6, torque_slide=slide))
    assert pump.limited_by.limiter is Limiter.CUT_OFF
    assert isinstance(pump.relief_crack, Absent)
    onset = pump.destroke_onset
    assert isinstance(onset, Event)
    reached = 2.0 + (28e6 - 2.5e6) / 200e6
    assert onset.time.value == pytest.approx(reached, abs=0.006 + 0.5 / rate)
    assert isinstance(onset.pressure, Figure)
    assert onset.pressure.value == pytest.approx(28e6, rel=0.03)


@pytest.mark.parametrize("slide", [0.3e6, 0.9e6])
def test_a_slide_with_main_pressure_is_not_the_cut_off(made_up: Make, slide: float) -> None:
    pump = only(made_up, stall(500, torque_slide=slide))
    assert isinstance(pump.destroke_onset, Absent)
    assert pump.limited_by.limiter is Limiter.RELIEF


def test_a_rise_too_fast_for_the_rate_shows_no_knee(made_up: Make) -> None:
    pump = only(made_up, stall(50))
    assert isinstance(pump.relief_crack, Absent)
    assert "sample" in pump.relief_crack.reason
    assert isinstance(pump.settled, Figure)


def test_an_aliased_line_is_found_where_it_shows() -> None:
    # 300 Hz seen at 200 Hz shows at 100 Hz − (300 − 200) = 100 → here 290 Hz shows at 90 Hz:
    # |f − fs·round(f/fs)|, the sampling theorem.
    times = np.arange(0, 2, 0.005)
    values = 30e6 + 2e5 * np.sin(2 * np.pi * 290 * times)
    found = ripple_of(times, values)
    assert found is not None
    assert found.line_hz == pytest.approx(90, abs=0.2)
    assert found.line == pytest.approx(2e5, rel=0.02)
    assert found.rms == pytest.approx(2e5 / np.sqrt(2), rel=0.02)


def second_order(times: F64, zeta: float, wn: float) -> F64:
    """Unit step response of a second-order element from t = 0 (textbook closed form)."""
    t = np.maximum(times, 0.0)
    wd = wn * np.sqrt(1 - zeta**2)
    decay = np.exp(-zeta * wn * t)
    return np.asarray(1 - decay * (np.cos(wd * t) + zeta / np.sqrt(1 - zeta**2) * np.sin(wd * t)))


# Overshoot in % is 100·exp(−πζ/√(1 − ζ²)); the settling time into ± 2 % counted from the instant of
# 50 % is the last band crossing of the closed form, times the natural frequency (root-found).
@pytest.mark.parametrize(
    ("zeta", "overshoot", "settle"),
    [(0.3, 37.232610, 10.047913), (0.5, 16.303353, 6.782310), (0.7, 4.598791, 4.550733)],
)
def test_overshoot_and_settling_of_a_second_order_step(
    made_up: Make, zeta: float, overshoot: float, settle: float
) -> None:
    # The figure's band is ± 2 % of the settled value; from an idle of zero it is that of the step.
    wn, times = 12.0, np.arange(0, 12, 0.002)
    step = 30e6 * second_order(times - 2.0, zeta, wn)
    main = np.where(times < 10, step, 30e6 * np.exp(-(times - 10) / 0.1))
    pump = only(made_up, {"times": times, "pump1.main": main})
    assert isinstance(pump.overshoot, Figure)
    assert pump.overshoot.value == pytest.approx(overshoot, abs=0.25)
    assert isinstance(pump.settle, Figure)
    assert pump.settle.value == pytest.approx(settle / wn, abs=0.012)
    assert isinstance(pump.settled, Figure)
    assert pump.settled.value == pytest.approx(30e6, rel=3e-4)


def test_an_engine_start_before_is_no_part_of_the_loading(made_up: Make) -> None:
    times = np.arange(0, 20, 0.005)
    main = np.interp(
        times, [3, 3.3, 10, 10.3, 10.4, 14, 14.3], [0, 2.5e6, 2.5e6, 28e6, 30e6, 30e6, 2.5e6]
    )
    noise = np.random.default_rng(4).normal(0, 2e4, len(times))
    trace = made_up(times, {"pump1.main": main + noise})
    (loading,) = analyse(trace).loadings
    assert loading.start_s == pytest.approx(10.0, abs=0.15)
    initial = loading.pumps[1].initial
    assert isinstance(initial, Figure)
    assert initial.value == pytest.approx(2.5e6, rel=0.02)


def test_two_plateaus_are_two(made_up: Make) -> None:
    times = np.arange(0, 14, 0.005)
    main = np.interp(
        times, [2, 2.3, 5.8, 6.0, 10, 10.3], [2.5e6, 36.5e6, 36.5e6, 34.3e6, 34.3e6, 2.5e6]
    )
    noise = np.random.default_rng(4).normal(0, 3e4, len(times))
    pump = only(made_up, {"times": times, "pump1.main": main + noise})
    assert isinstance(pump.settled, Figure)
    assert pump.settled.value == pytest.approx(34.3e6, rel=1e-3)
    assert any("two plateaus" in said and "36.5" in said for said in pump.settled.cautions)
