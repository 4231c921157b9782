"""From signal to pressure. Check values: closed form, and NAMUR NE 43 for the current levels."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.model.conditioning import Chain, Wiring
from gaugebench.model.quality import Quality

BAR = 1e5


def one(chain: Chain, raw: float) -> tuple[float, Quality]:
    values, quality = chain.apply(np.array([raw]), np.zeros(1, dtype=np.uint16))
    return float(values[0]), Quality(int(quality[0]))


def chain(wiring: Wiring, **more: Any) -> Chain:
    return Chain(wiring=wiring, range_low=0.0, range_high=600 * BAR, **more)


@pytest.mark.parametrize(
    ("wiring", "raw", "bar"),
    [
        # 4-20 mA and 0.5-4.5 V over 0-600 bar, closed form.
        (Wiring.CURRENT, 12.0, 300.0),
        (Wiring.CURRENT, 4.08, 3.0),
        (Wiring.RATIOMETRIC, 2.5, 300.0),
        (Wiring.RATIOMETRIC, 0.5, 0.0),
        (Wiring.VOLTAGE, 10.0, 600.0),
    ],
)
def test_levels(wiring: Wiring, raw: float, bar: float) -> None:
    value, quality = one(chain(wiring), raw)
    assert value == pytest.approx(bar * BAR, abs=1e-3)
    assert quality is Quality.GOOD


@pytest.mark.parametrize(
    ("milliamps", "is_number", "expected"),
    [
        # NAMUR NE 43: under 3.6 fault, to 3.8 suspect, to 20.5 good, to 21 suspect, above fault.
        (0.0, False, Quality.WIRE_OFF),
        (3.59, False, Quality.WIRE_OFF),
        (3.7, True, Quality.SUSPECT),
        (3.85, True, Quality.GOOD),
        (19.9, True, Quality.GOOD),
        (20.4, True, Quality.OVER_RANGE),
        (20.8, True, Quality.SUSPECT),
        (21.1, False, Quality.WIRE_OFF),
    ],
)
def test_states_of_a_current_loop(milliamps: float, is_number: bool, expected: Quality) -> None:
    value, quality = one(chain(Wiring.CURRENT), milliamps)
    assert np.isfinite(value) == is_number
    assert expected in quality if expected else quality is Quality.GOOD


@pytest.mark.parametrize(
    ("milliamps", "expected"),
    [
        # The levels of NAMUR NE 43 themselves belong to the milder state.
        (3.6, Quality.SUSPECT),
        (3.8, Quality.GOOD),
        (20.0, Quality.GOOD),
        (20.5, Quality.OVER_RANGE),
        (21.0, Quality.OVER_RANGE | Quality.SUSPECT),
        (3.5999, Quality.WIRE_OFF | Quality.SUSPECT),
        (21.0001, Quality.WIRE_OFF | Quality.SUSPECT),
        (-1.0, Quality.WIRE_OFF | Quality.SUSPECT),
        (24.0, Quality.WIRE_OFF | Quality.SUSPECT),
    ],
)
def test_the_levels_of_a_current_loop_themselves(milliamps: float, expected: Quality) -> None:
    value, quality = one(chain(Wiring.CURRENT), milliamps)
    assert quality is expected
    assert np.isnan(value) == (Quality.WIRE_OFF in expected)


@pytest.mark.parametrize(
    ("wiring", "volts", "expected"),
    [
        # Common practice, no source.
        (Wiring.RATIOMETRIC, 0.0, Quality.WIRE_OFF),
        (Wiring.RATIOMETRIC, 0.24, Quality.WIRE_OFF),
        (Wiring.RATIOMETRIC, 0.3, Quality.SUSPECT),
        (Wiring.RATIOMETRIC, 4.7, Quality.SUSPECT),
        (Wiring.RATIOMETRIC, 5.0, Quality.WIRE_OFF),
        (Wiring.VOLTAGE, -0.6, Quality.WIRE_OFF),
        (Wiring.VOLTAGE, 10.2, Quality.SUSPECT),
        (Wiring.VOLTAGE, 10.6, Quality.WIRE_OFF),
    ],
)
def test_states_of_a_voltage(wiring: Wiring, volts: float, expected: Quality) -> None:
    value, quality = one(chain(wiring), volts)
    assert expected in quality
    assert np.isnan(value) == (expected is Quality.WIRE_OFF)


def test_a_small_negative_is_kept_since_it_is_the_zero_error() -> None:
    value, quality = one(chain(Wiring.CURRENT), 3.95)
    assert value == pytest.approx(-1.875 * BAR)
    assert quality is Quality.GOOD


def test_missing_is_never_a_number() -> None:
    for raw in (np.nan, np.inf, -np.inf):
        value, quality = one(Chain(), raw)
        assert np.isnan(value)
        assert quality is Quality.MISSING


def test_a_direct_signal_beyond_its_range_is_kept_and_flagged() -> None:
    value, quality = one(Chain(raw_factor=BAR, range_low=0.0, range_high=600 * BAR), 620.0)
    assert value == pytest.approx(620 * BAR)
    assert quality is Quality.OVER_RANGE


def test_the_input_is_left_alone() -> None:
    raw, quality = np.array([np.nan, 2.5]), np.zeros(2, dtype=np.uint16)
    chain(Wiring.RATIOMETRIC).apply(raw, quality)
    assert np.isnan(raw[0])
    assert quality.tolist() == [0, 0]


@given(st.floats(0.5, 4.5), st.floats(-10, 10))
def test_the_zero_is_taken_off(volts: float, zero_bar: float) -> None:
    plain, _ = one(chain(Wiring.RATIOMETRIC), volts)
    zeroed, _ = one(chain(Wiring.RATIOMETRIC, zero=zero_bar * BAR), volts)
    assert plain - zeroed == pytest.approx(zero_bar * BAR, abs=1e-2)


def test_a_calibration_curve_is_applied() -> None:
    # NIST StRD Pontius (load cell): certified coefficients, residual standard deviation 2.05e-4,
    # and three of its measured deflections.
    curve = (6.73565789473684e-04, 7.32059160401003e-07, -3.16081871345029e-15)
    cell = Chain(curve=curve)
    for load, deflection in ((150_000, 0.11019), (1_500_000, 1.09146), (3_000_000, 2.16829)):
        assert one(cell, load)[0] == pytest.approx(deflection, abs=3 * 2.05e-4)


def test_the_curve_comes_after_the_range_and_before_the_zero() -> None:
    cell = Chain(Wiring.CURRENT, range_low=0.0, range_high=600.0, zero=1.0, curve=(0.5, 1.01, 1e-5))
    assert one(cell, 12.0)[0] == pytest.approx(0.5 + 1.01 * 300 + 1e-5 * 300**2 - 1.0)
    assert np.isnan(one(cell, 2.0)[0]), "a broken wire has no number, calibrated or not"
