"""Combination of uncertainties against the worked examples of JCGM 100:2008 (GUM)."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.analyse import uncertainty
from gaugebench.analyse.uncertainty import Part, combine

# JCGM 100:2008 4.4.3, Table 1: twenty temperatures
READINGS = np.array(
    [
        96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
        100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
    ]
)  # fmt: skip


def test_mean_of_readings() -> None:
    # JCGM 100:2008 4.4.3: mean 100.145 °C, s 1.489 °C, s of the mean 0.333 °C
    mean, of_mean, dof = uncertainty.mean_and_uncertainty(READINGS)
    assert mean == pytest.approx(100.145, abs=5e-4)
    assert of_mean * math.sqrt(20) == pytest.approx(1.489, abs=5e-4)
    assert of_mean == pytest.approx(0.333, abs=5e-4)
    assert dof == 19
    with pytest.raises(ValueError, match="two readings"):
        uncertainty.mean_and_uncertainty(READINGS[:1])


def test_bounds_become_standard_uncertainties() -> None:
    # JCGM 100:2008 F.2.2.1 and F.2.2.2: 0.29 of the step; 4.3.3: 240 µg at three deviations
    assert uncertainty.resolution(1.0) == pytest.approx(0.29, abs=0.005)
    assert combine({"certificate": Part(240.0 / 3)}).standard == 80.0
    # F.2.2.1 on a 12-bit converter over 600 bar
    assert uncertainty.resolution(600 / 4096) == pytest.approx(0.0422864, abs=1e-6)
    # 4.3.7 example 2 with 5.1.5: 14e-6 of 0.928571 V + 2e-6 of 1 V, readings 12 µV
    bound = 14e-6 * 0.928571 + 2e-6
    parts = {"meter": Part(uncertainty.rectangular(bound)), "readings": Part(12e-6)}
    assert bound == pytest.approx(15e-6, abs=0.05e-6)
    assert uncertainty.rectangular(bound) == pytest.approx(8.7e-6, abs=0.05e-6)
    assert combine(parts).standard == pytest.approx(15e-6, abs=0.5e-6)
    # 4.3.9: a / √6
    assert uncertainty.triangular(1.0) == pytest.approx(0.408248, abs=1e-6)


def test_end_gauge() -> None:
    # JCGM 100:2008 H.1: an end gauge compared with a standard of the same nominal length, nm
    difference = combine(
        {
            "readings": Part(13 / math.sqrt(5), dof=24),
            "comparator, random": Part(10 / 2.57, dof=5),
            "comparator, systematic": Part(20 / 3, dof=uncertainty.type_b_dof(0.25)),
        }
    )
    assert difference.standard == pytest.approx(9.7, abs=0.05)  # H.1.3.2
    assert difference.dof == pytest.approx(25.6, abs=0.05)  # H.1.6
    parts = {
        "standard": Part(25.0, dof=18),
        "difference": Part(difference.standard, dof=difference.dof),
        "expansion": Part(2.9, dof=uncertainty.type_b_dof(0.10)),
        "temperature": Part(16.6, dof=uncertainty.type_b_dof(0.50)),
    }
    length = combine(parts)
    assert length.standard**2 == pytest.approx(1002, abs=0.5)  # H.1.4
    assert length.standard == pytest.approx(32, abs=0.5)
    assert length.dof == pytest.approx(16.7, abs=0.05)  # H.1.6
    assert length.at_level(0.99) == pytest.approx(93, abs=0.6)  # 2.92 × the rounded 32 nm
    # H.1.7: the second-order terms raise it to 34 nm
    further = parts | {"second order": Part(11.7), "second order, standard": Part(1.7)}
    assert combine(further).standard == pytest.approx(34, abs=0.5)


def test_welch_satterthwaite_for_a_product() -> None:
    # JCGM 100:2008 G.4.1: relative uncertainties in % of three inputs with n = 10, 5 and 15
    product = combine({"x1": Part(0.25, dof=9), "x2": Part(0.57, dof=4), "x3": Part(0.82, dof=14)})
    assert product.standard == pytest.approx(1.03, abs=0.005)
    assert product.dof == pytest.approx(19.0, abs=0.05)
    assert product.at_level(0.95) == pytest.approx(2.2, abs=0.05)


def test_dof_of_a_stated_uncertainty() -> None:
    # JCGM 100:2008 G.4.2 and H.1.6
    assert [uncertainty.type_b_dof(share) for share in (0.25, 0.5, 0.1)] == pytest.approx(
        [8, 2, 50], rel=1e-12
    )


def test_correlated_inputs() -> None:
    # JCGM 100:2008 H.2, Tables H.2 to H.4: resistance, reactance, impedance from V, I and phi
    volts = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
    amps = np.array([19.663, 19.639, 19.640, 19.685, 19.678]) * 1e-3
    angle = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])
    means = [uncertainty.mean_and_uncertainty(x) for x in (volts, amps, angle)]
    (v, uv, _), (i, ui, _), (phi, uphi, _) = means
    correlations = {
        ("V", "I"): uncertainty.mean_correlation(volts, amps),
        ("V", "phi"): uncertainty.mean_correlation(volts, angle),
        ("I", "phi"): uncertainty.mean_correlation(amps, angle),
    }
    assert correlations[("V", "I")] == pytest.approx(-0.36, abs=0.006)
    assert correlations[("V", "phi")] == pytest.approx(0.86, abs=0.006)
    assert correlations[("I", "phi")] == pytest.approx(-0.65, abs=0.006)

    def standard(value: float, by_phi: float) -> float:
        """Of a value ∝ V / I · f(phi)."""
        parts = {"V": Part(uv, value / v), "I": Part(ui, -value / i), "phi": Part(uphi, by_phi)}
        return combine(parts, correlations).standard

    z = v / i
    r, x = z * math.cos(phi), z * math.sin(phi)
    assert (r, x, z) == pytest.approx((127.732, 219.847, 254.260), abs=1e-3)
    assert standard(r, -x) == pytest.approx(0.071, abs=5e-4)
    assert standard(x, r) == pytest.approx(0.295, abs=1e-3)
    assert standard(z, 0.0) == pytest.approx(0.236, abs=5e-4)


def test_difference_of_two_transducers() -> None:
    # JCGM 100:2008 equation (16): one reference for both takes from the difference
    assert uncertainty.of_difference(1.0, 1.0) == pytest.approx(math.sqrt(2))
    assert uncertainty.of_difference(1.0, 1.0, 0.5) == pytest.approx(1.0)
    assert uncertainty.of_difference(1.0, 1.0, 1.0) == 0.0


def test_power_from_pressure_and_flow() -> None:
    # JCGM 100:2008 equation (12): 250 bar ± 0.5 %, 120 L/min ± 1.5 % give 50 kW ± 0.790569 kW
    p, q = 250e5, 120 / 60e3
    power = combine({"pressure": Part(0.005 * p, q), "flow": Part(0.015 * q, p)})
    assert power.standard == pytest.approx(790.569, abs=1e-3)
    assert power.expanded == pytest.approx(2 * 790.569, abs=2e-3)
    assert power.parts == pytest.approx({"pressure": 250.0, "flow": 750.0})


def test_normalised_error() -> None:
    # E_n of ISO/IEC 17043 (from memory): 345.2 and 343.0 bar, U = 1.5 bar each, disagree
    assert uncertainty.normalised_error(345.2, 343.0, 1.5, 1.5) == pytest.approx(1.03709, abs=1e-5)


def test_unknown_correlation_is_refused() -> None:
    for pair, r in ((("a", "c"), 0.5), (("a", "b"), 1.5)):
        with pytest.raises(ValueError, match="correlation"):
            combine({"a": Part(1.0), "b": Part(1.0)}, {pair: r})


@given(st.dictionaries(st.text(min_size=1), st.floats(0, 1e6), min_size=1, max_size=6))
def test_expanded_is_twice_the_root_of_squares(parts: dict[str, float]) -> None:
    by_parts = combine({name: Part(value) for name, value in parts.items()})
    assert uncertainty.expanded(parts) == pytest.approx(by_parts.expanded)
    assert by_parts.expanded == pytest.approx(2 * math.hypot(*parts.values()))
    assert math.isinf(by_parts.dof)
    assert by_parts.at_level(0.9545) == pytest.approx(by_parts.expanded, rel=1e-3)
