"""Student's t against scipy and the GUM's table of coverage factors."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from gaugebench.analyse.student import coverage_factor, t_quantile


@given(probability=st.floats(0.001, 0.999), dof=st.floats(1.0, 500.0))
def test_quantile_agrees_with_scipy(probability: float, dof: float) -> None:
    want = float(stats.t.ppf(probability, dof))
    assert t_quantile(probability, dof) == pytest.approx(want, rel=1e-8, abs=1e-9)


@pytest.mark.parametrize(
    ("level", "k"),
    [(0.6827, 1.0), (0.90, 1.645), (0.95, 1.960), (0.9545, 2.0), (0.99, 2.576), (0.9973, 3.0)],
)
def test_normal_coverage_factors(level: float, k: float) -> None:
    # JCGM 100:2008 Table G.1
    assert coverage_factor(level) == pytest.approx(k, abs=5e-4)


@pytest.mark.parametrize(
    ("dof", "t95"),
    [(1, 12.7062), (2, 4.3027), (3, 3.1824), (5, 2.5706), (10, 2.2281), (20, 2.086), (50, 2.0086)],
)
def test_t_table(dof: float, t95: float) -> None:
    # JCGM 100:2008 Table G.2 (four decimals from scipy.stats.t)
    assert coverage_factor(0.95, dof) == pytest.approx(t95, abs=5e-5)


@pytest.mark.parametrize(("probability", "dof"), [(0.0, 5), (1.0, 5), (0.9, 0.5)])
def test_nonsense_is_refused(probability: float, dof: float) -> None:
    with pytest.raises(ValueError, match="degree"):
        t_quantile(probability, dof)


def test_infinite_dof_is_normal() -> None:
    assert t_quantile(0.975, math.inf) == pytest.approx(float(stats.norm.ppf(0.975)), rel=1e-12)


def test_certificate_and_guard_band() -> None:
    # JCGM 100:2008 4.3.4: ± 129 µΩ at 99 %, normal, is u = 50 µΩ
    assert 129 / coverage_factor(0.99) == pytest.approx(50, abs=0.5)
    # JCGM 106:2012 8.3.3, second example: s 0.20 with 9 degrees of freedom, one-sided 95 %
    assert 0.20 * t_quantile(0.95, 9) == pytest.approx(0.37, abs=5e-3)
