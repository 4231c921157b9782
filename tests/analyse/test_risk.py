"""Global risks against the worked examples of JCGM 106:2012, clause 9.5."""

import math

import pytest
from scipy import integrate, stats

from gaugebench.analyse.risk import global_risks, normal_prior
from gaugebench.analyse.verdict import Limits


def test_resistors() -> None:
    # JCGM 106:2012 9.5.3.2: 1500 Ω, u0 0.12, um 0.04, T 1499.8 to 1500.2, A 1499.82 to 1500.18
    prior, support = normal_prior(1500.0, 0.12)
    found = global_risks(prior, support, 0.04, Limits(1499.8, 1500.2), Limits(1499.82, 1500.18))
    assert 1 - found.outside == pytest.approx(0.90, abs=5e-3)
    assert found.consumer == pytest.approx(0.01, abs=5e-4)
    assert found.producer == pytest.approx(0.07, abs=1.5e-3)
    # the unrounded figures, by scipy.integrate.quad
    assert 1 - found.outside == pytest.approx(0.904419, abs=1e-6)
    assert found.consumer == pytest.approx(0.00987829, abs=1e-7)
    assert found.producer == pytest.approx(0.0690265, abs=1e-6)


def test_gamma_prior() -> None:
    # JCGM 106:2012 9.5.4: gamma prior (4, 4), upper limit 2, um 0.25; R_C 0.1 %, R_P 7.5 %
    found = global_risks(
        lambda x: float(stats.gamma.pdf(x, 4, scale=0.25)),
        (0.0, 12.0),
        0.25,
        Limits(high=2.0),
        Limits(high=1.675),
    )
    assert found.outside == pytest.approx(0.0423801, abs=1e-6)
    assert found.consumer == pytest.approx(0.00102654, abs=2e-5)
    assert found.producer == pytest.approx(0.0746497, abs=2e-4)


@pytest.mark.parametrize(
    ("capability", "consumer", "producer"),
    [(2.0, 0.000981581, 0.0146769), (10.0, 0.000408131, 0.000717413)],
)
def test_capability_lowers_both_risks(capability: float, consumer: float, producer: float) -> None:
    # JCGM 106:2012 9.5.6: u0 = T / 6, no guard band: 0.1 % and 1.5 %, 0.04 % and 0.07 %
    width = 6.0
    prior, support = normal_prior(0.0, 1.0)
    standard = width / (4 * capability)
    band = Limits(-width / 2, width / 2)
    found = global_risks(prior, support, standard, band, band)
    assert found.consumer == pytest.approx(consumer, abs=1e-7)
    assert found.producer == pytest.approx(producer, abs=1e-6)


def test_one_limit_agrees_with_scipy() -> None:
    prior, support = normal_prior(300.0, 10.0)
    found = global_risks(prior, support, 3.0, Limits(low=290.0), Limits(low=296.0))
    wrong, _ = integrate.quad(
        lambda x: prior(x) * stats.norm.sf(296.0, x, 3.0), support[0], 290.0, epsabs=1e-12
    )
    assert found.consumer == pytest.approx(wrong, abs=1e-9)
    assert math.isclose(found.outside, float(stats.norm.cdf(-1.0)), rel_tol=1e-9)


def test_nonsense_is_refused() -> None:
    prior, support = normal_prior(0.0, 1.0)
    with pytest.raises(ValueError, match="above zero"):
        global_risks(prior, support, 0.0, Limits(0.0, 1.0), Limits(0.0, 1.0))
