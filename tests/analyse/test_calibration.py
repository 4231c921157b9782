"""Calibration against NIST's certified fits, the GUM and a published sensor calibration."""

import datetime
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from gaugebench.analyse import calibration, lines, uncertainty
from gaugebench.analyse.calibration import Cycle, errors
from gaugebench.analyse.lines import Method
from gaugebench.model.arrays import F64
from gaugebench.model.figures import Absent, Answer, Figure


def numbers(text: str) -> F64:
    return np.array([float(part) for part in text.split(",")])


# NIST Statistical Reference Datasets, linear regression, “Norris” (itl.nist.gov/div898/strd)
NORRIS_X = numbers(
    "0.2,337.4,118.2,884.6,10.1,226.5,666.3,996.3,448.6,777.0,558.2,0.4,0.6,775.5,666.9,338.0,"
    "447.5,11.6,556.0,228.1,995.8,887.6,120.2,0.3,0.3,556.8,339.1,887.2,999.0,779.0,11.1,118.3,"
    "229.2,669.1,448.9,0.5"
)
NORRIS_Y = numbers(
    "0.1,338.8,118.1,888.0,9.2,228.1,668.5,998.5,449.1,778.9,559.2,0.3,0.1,778.1,668.8,339.3,"
    "448.9,10.8,557.7,228.3,998.0,888.8,119.6,0.3,0.6,557.6,339.3,888.0,998.5,778.9,10.2,117.6,"
    "228.9,668.4,449.2,0.2"
)
# The same, “Pontius”: a load cell, each of 20 loads twice
PONTIUS_X = np.tile(np.arange(1, 21) * 150_000.0, 2)
PONTIUS_Y = numbers(
    ".11019,.21956,.32949,.43899,.54803,.65694,.76562,.87487,.98292,1.09146,1.20001,1.30822,"
    "1.41599,1.52399,1.63194,1.73947,1.84646,1.95392,2.06128,2.16844,.11052,.22018,.32939,.43886,"
    ".54798,.65739,.76596,.87474,.98300,1.09150,1.20004,1.30818,1.41613,1.52408,1.63159,1.73965,"
    "1.84696,1.95445,2.06177,2.16829"
)
# R. Kessel, R. N. Kacker, K.-D. Sommer, “Uncertainty budget for range calibration”, Measurement 45
# (2012) 1661–1669, Table 4; worked in the documentation of the open library MSLNZ/GTC
# (docs/API/linear_cal_functions.rst)
APPLIED = np.arange(0.0, 22.0, 2.0)
READINGS = numbers(".0000,.2039,.4080,.6120,.8160,1.0201,1.2242,1.4283,1.6325,1.8367,2.0410")


def test_norris() -> None:
    found = lines.least_squares(NORRIS_X, NORRIS_Y)
    assert found.coefficients == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-10)
    assert found.standards == pytest.approx([0.232818234301152, 0.000429796848199937], rel=1e-9)
    assert found.scatter == pytest.approx(0.884796396144373, rel=1e-9)
    squares = float(found.residuals @ found.residuals)
    assert squares == pytest.approx(26.6173985294224, rel=1e-9)
    spread = float(np.sum((NORRIS_Y - NORRIS_Y.mean()) ** 2))
    assert 1 - squares / spread == pytest.approx(0.999993745883712, rel=1e-12)


def test_pontius() -> None:
    found = lines.least_squares(PONTIUS_X, PONTIUS_Y, degree=2)
    assert found.coefficients == pytest.approx(
        [0.673565789473684e-3, 0.732059160401003e-6, -0.316081871345029e-14], rel=1e-7
    )
    assert found.standards == pytest.approx(
        [0.107938612033077e-3, 0.157817399981659e-9, 0.486652849992036e-16], rel=1e-7
    )
    assert found.scatter == pytest.approx(0.205177424076185e-3, rel=1e-7)


def test_load_cell_needs_its_parabola() -> None:
    # NIST/SEMATECH e-Handbook of Statistical Methods, 4.6.1: the straight line is inadequate
    found = lines.least_squares(PONTIUS_X, PONTIUS_Y)
    assert found.coefficients == pytest.approx([6.150e-3, 7.221e-7], abs=5e-7)
    assert found.standards == pytest.approx([7.132e-4, 3.969e-10], rel=1e-3)
    better = lines.least_squares(PONTIUS_X, PONTIUS_Y, degree=2)
    assert found.scatter > 10 * better.scatter


def test_noint2() -> None:
    # NIST StRD “NoInt2”, a line through the origin: the points and their mirror image give it
    x, y = numbers("4,5,6"), numbers("3,4,4")
    mirrored = lines.least_squares(np.concatenate((x, -x)), np.concatenate((y, -y)))
    assert mirrored.coefficients == pytest.approx([0.0, 0.727272727272727], abs=1e-14)
    # twice the points and one coefficient more: the certified sd is larger by the ratio of dof
    squares = float(mirrored.residuals @ mirrored.residuals) / 2
    certified = math.sqrt(squares / 2 / float(x @ x))
    assert certified == pytest.approx(0.0420827318078432, rel=1e-12)


def test_thermometer() -> None:
    # JCGM 100:2008 H.3: a thermometer's correction as a line about 20 °C
    t = numbers("21.521,22.012,22.512,23.003,23.507,23.999,24.513,25.002,25.503,26.010,26.511")
    b = numbers("-.171,-.169,-.166,-.159,-.164,-.165,-.156,-.157,-.159,-.161,-.160")
    found = lines.least_squares(t - 20, b)
    assert found.coefficients == pytest.approx([-0.1712, 0.00218], abs=5e-5)
    assert found.coefficients[1] == pytest.approx(0.00218, abs=5e-6)
    assert found.standards == pytest.approx([0.0029, 0.00067], abs=5e-5)
    assert found.covariance[0, 1] / np.prod(found.standards) == pytest.approx(-0.930, abs=5e-4)
    assert found.scatter == pytest.approx(0.0035, abs=5e-5)
    assert found.at(10.0) == pytest.approx(-0.1494, abs=5e-5)  # H.3.4, at 30 °C
    assert found.standard_at(10.0) == pytest.approx(0.0041, abs=5e-5)
    assert found.dof == 9
    centred = lines.least_squares(t - t.mean(), b)  # H.3.5
    assert centred.coefficients[0] == pytest.approx(-0.1625, abs=5e-5)
    assert centred.standards[0] == pytest.approx(0.0011, abs=5e-5)
    assert centred.covariance[0, 1] == pytest.approx(0.0, abs=1e-12)


def test_pressure_sensor_terminal_line() -> None:
    found = calibration.curve(READINGS, APPLIED, Method.TERMINAL)
    assert found.coefficients == pytest.approx([0.0, 9.799118079372857], rel=1e-12, abs=1e-12)
    printed = numbers("0,.00196,.00196,.00294,.00392,.00392,.00392,.00392,.00294,.00196,0")
    assert found.residuals == pytest.approx(printed, abs=5e-6)
    assert 100 * found.largest / 20 == pytest.approx(0.019598, abs=1e-6)


def test_pressure_sensor_other_lines() -> None:
    chebyshev = calibration.curve(READINGS, APPLIED, Method.MINIMUM_MAXIMUM)
    assert 100 * chebyshev.largest / 20 == pytest.approx(0.009799, abs=1e-6)
    squares = calibration.curve(READINGS, APPLIED, Method.LEAST_SQUARES)
    reference = np.polyfit(READINGS, APPLIED, 1)
    assert squares.coefficients == pytest.approx(reference[::-1], rel=1e-9)
    assert squares.largest == pytest.approx(0.00271660, rel=1e-6)
    assert squares.scatter == pytest.approx(0.00154941, rel=1e-5)


def test_pressure_sensor_uncertainty() -> None:
    display = uncertainty.rectangular(0.00005)
    found = calibration.two_point(READINGS, APPLIED, 0.000115, display, 0.005)
    assert found.slope == pytest.approx(9.799118079372857, rel=1e-12)
    assert found.slope_standard == pytest.approx(0.00114381754747, rel=1e-9)
    assert found.intercept_standard == pytest.approx(0.00028287617305, rel=1e-9)
    assert found.correlation == pytest.approx(-0.121170418642, rel=1e-9)
    # Table 7 there starts from the rounded coefficients
    rounded = calibration.Equation(
        9.79912, 0.0, 0.00114, 0.00028, -0.1212, display, uncertainty.rectangular(0.005)
    )
    for reading, pressure, expanded in (
        (0.0, 0.0, 0.00582812),
        (0.2039, 1.99804, 0.00584124),
        (1.0201, 9.99608, 0.00624986),
        (2.0410, 20.0, 0.00741554),
    ):
        assert rounded.pressure(reading) == pytest.approx(pressure, abs=5e-5)
        assert 2 * rounded.standard(reading) == pytest.approx(expanded, abs=1e-8)
        assert found.standard(reading) == pytest.approx(rounded.standard(reading), rel=3e-3)


def chebyshev_by_linear_program(x: F64, y: F64, degree: int) -> float:
    """The smallest largest deviation, by scipy.optimize.linprog."""
    design = x[:, None] ** np.arange(degree + 1)
    one = np.ones((len(x), 1))
    found = linprog(
        [0.0] * (degree + 1) + [1.0],
        A_ub=np.block([[design, -one], [-design, -one]]),
        b_ub=np.concatenate((y, -y)),
        bounds=[(None, None)] * (degree + 1) + [(0, None)],
    )
    return float(found.x[-1])


@pytest.mark.parametrize("degree", [1, 2])
@pytest.mark.parametrize("seed", range(12))
def test_minimum_maximum_agrees_with_a_linear_program(seed: int, degree: int) -> None:
    rng = np.random.default_rng(seed)
    x = np.sort(rng.uniform(0, 1, 4 + seed))
    y = x + 0.1 * x**2 + 0.05 * rng.standard_normal(len(x))
    found = lines.minimum_maximum(x, y, degree)
    assert found.largest == pytest.approx(chebyshev_by_linear_program(x, y, degree), rel=1e-7)


@given(bow=st.floats(0.01, 3.0), gain=st.floats(0.9, 1.1), zero=st.floats(-1, 1))
def test_a_bow_is_halved_by_the_best_line(bow: float, gain: float, zero: float) -> None:
    """For a sensor bowed one way the best line leaves half of what the terminal line leaves."""
    x = np.linspace(0, 600, 25)
    y = zero + gain * x + 4 * bow * (x / 600) * (1 - x / 600)
    ends = lines.fit(x, y, Method.TERMINAL)
    best = lines.fit(x, y, Method.MINIMUM_MAXIMUM)
    assert best.largest == pytest.approx(ends.largest / 2, rel=1e-6)
    for method in Method:
        assert lines.fit(x, y, method, degree=2).largest < 1e-8


def test_terminal_parabola_keeps_its_ends() -> None:
    rng = np.random.default_rng(2)
    x = np.linspace(0.0, 10.0, 11)
    y = x + 0.02 * x**2 + 0.01 * rng.standard_normal(11)
    found = lines.terminal(x, y, degree=2)
    assert found.residuals[[0, -1]] == pytest.approx([0.0, 0.0], abs=1e-12)
    free = chebyshev_by_linear_program(x, y, 2)
    assert free <= found.largest < 2.5 * free


def test_fits_that_cannot_be() -> None:
    one = np.array([1.0, 1.0])
    with pytest.raises(ValueError, match="different points"):
        lines.least_squares(one, one)
    with pytest.raises(ValueError, match="one y for each x"):
        lines.minimum_maximum(np.array([0.0, 1, 1, 2]), np.array([0.0, 1, 2, 3]))
    with pytest.raises(ValueError, match="parabola"):
        lines.terminal(np.arange(5.0), np.arange(5.0), degree=3)
    with pytest.raises(ValueError, match="different readings"):
        calibration.two_point(np.array([1.0, 1.0]), np.array([0.0, 20.0]), 0.0, 0.0, 0.0)
    exact = lines.minimum_maximum(np.array([0.0, 1.0]), np.array([3.0, 5.0]))
    assert exact.largest == pytest.approx(0.0, abs=1e-12)


CYCLES = (
    Cycle(numbers("0.0,150.6,301.0,450.9,600.4"), numbers("0.2,151.5,302.1,451.6,600.4")),
    Cycle(numbers("0.1,150.8,301.1,450.8,600.3"), numbers("0.3,151.6,302.2,451.6,600.3")),
)
POINTS = numbers("0,150,300,450,600")


def value(answer: Answer) -> float:
    assert isinstance(answer, Figure)
    assert answer.unit == "% FS"
    return answer.value


def test_errors_in_percent_of_full_scale() -> None:
    """Made-up readings; worked by hand: 1.1, 0.2, 0.2, 0.85, 0.45 and 0.425 bar of 600 bar."""
    found = errors(POINTS, CYCLES, 600.0)
    assert value(found.hysteresis) == pytest.approx(0.18333, abs=1e-4)
    assert value(found.repeatability) == pytest.approx(0.03333, abs=1e-4)
    assert value(found.zero_return) == pytest.approx(0.03333, abs=1e-4)
    assert value(found.terminal) == pytest.approx(0.14167, abs=1e-4)
    assert value(found.least_squares) == pytest.approx(0.07500, abs=1e-4)
    assert value(found.minimum_maximum) == pytest.approx(0.07083, abs=1e-4)


def test_errors_that_cannot_be_had() -> None:
    found = errors(POINTS, (Cycle(CYCLES[0].up),), 600.0)
    assert isinstance(found.hysteresis, Absent)
    assert isinstance(found.zero_return, Absent)
    assert isinstance(found.repeatability, Absent)
    with pytest.raises(ValueError, match="rising"):
        errors(POINTS[::-1], CYCLES, 600.0)
    with pytest.raises(ValueError, match="each applied point"):
        errors(POINTS, (Cycle(POINTS[:-1]),), 600.0)


def test_parts_of_a_calibrated_indication() -> None:
    # spans as rectangular, JCGM 100:2008 F.2.2.1: 0.15 ⊕ (1.1, 0.2, 0.2, 0.1) / √12 bar
    parts = calibration.indication_parts(0.15, 1.1, 0.2, 0.2, 0.1)
    assert uncertainty.expanded(parts) == pytest.approx(0.723418, abs=1e-5)


def test_drift_of_a_gauge() -> None:
    """Five yearly readings of a 180 psi point (from the documentation of sandialabs/suncal).

    The value expected on 2019-07-01 is printed there as 184.67; the prediction interval is that
    of ordinary least squares, which the source's own method differs from.
    """
    dates = ("2011-11-06", "2013-10-07", "2015-08-01", "2016-07-23", "2018-05-11", "2019-07-01")
    days = np.array([float(datetime.date.fromisoformat(d).toordinal()) for d in dates])
    days -= days[0]
    found = calibration.drift(days[:-1], numbers("180.1,181.5,182.2,183.0,184.0"))
    expected, half_width = found.expected(float(days[-1]))
    assert expected == pytest.approx(184.67, abs=0.005)
    assert half_width == pytest.approx(0.704117, abs=1e-5)
    assert found.per_year == pytest.approx(0.586745, abs=1e-5)
    assert found.fit.scatter == pytest.approx(0.159535, abs=1e-5)
    with pytest.raises(ValueError, match="three"):
        calibration.drift(days[:2], days[:2])


def test_zero_before_and_after() -> None:
    check = calibration.ZeroCheck("K-117", before=0.02e5, after=0.85e5, standard=0.05e5)
    assert check.shift == pytest.approx(0.83e5)
    assert check.has_moved()
    assert not check.has_moved(allowed=1.5e5)
    assert not calibration.ZeroCheck("K-117", 0.02e5, 0.10e5, 0.05e5).has_moved()
