"""Verdicts against the worked examples of JCGM 106:2012."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.analyse.verdict import (
    Decision,
    Limits,
    Outcome,
    Rule,
    acceptance_limits,
    capability,
    conformance,
    inside_by,
    judge,
)


def test_conformance_with_one_limit() -> None:
    # JCGM 106:2012 7.3.3 example 1 (upper limit) and example 2 (burst pressure, lower limit, kPa)
    assert conformance(-5.47, 0.05, Limits(high=-5.40)) == pytest.approx(0.919243, abs=5e-4)
    assert conformance(509.7, 8.6, Limits(low=490.0)) == pytest.approx(0.989010, abs=5e-4)


def test_conformance_with_two_limits() -> None:
    # JCGM 106:2012 7.4: kinematic viscosity of an oil, mm²/s
    assert conformance(13.6, 1.8, Limits(12.5, 16.3)) == pytest.approx(0.66, abs=5e-3)


@pytest.mark.parametrize(
    ("probability", "z"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)]
)
def test_distance_for_a_probability(probability: float, z: float) -> None:
    # JCGM 106:2012 Table 1
    assert conformance(-z, 1.0, Limits(high=0.0)) == pytest.approx(probability, abs=2e-3)
    guard = judge(-9.0, 2.0, Limits(high=0.0), Decision(Rule.PROBABILITY, probability)).guard
    assert guard == pytest.approx(z, abs=0.005)


def test_wrong_passes_at_the_acceptance_limit() -> None:
    # JCGM 106:2012 8.3.2.3: with w = U = 2u at most 2.3 %; 8.3.1.2: with w = 0 half of them
    low, high = acceptance_limits(Limits(0.0, 100.0), 2.0)
    assert (low, high) == (2.0, 98.0)
    assert 1 - conformance(98.0, 1.0, Limits(high=100.0)) == pytest.approx(0.0228, abs=5e-4)
    assert 1 - conformance(100.0, 1.0, Limits(high=100.0)) == 0.5


def test_capability() -> None:
    # JCGM 106:2012 7.6.3 and 7.6.5: C_m = E_max / U; at C_m = 1 a centred reading conforms with
    # 95.45 %, and one 5 % of the band aside with 95.02 % (7.7.5)
    band = Limits(0.0, 4.0)
    assert capability(band, 2.0) == 1.0
    assert capability(Limits(high=4.0), 2.0) is None
    assert conformance(2.0, 1.0, band) == pytest.approx(0.9545, abs=5e-4)
    assert conformance(1.8, 1.0, band) == pytest.approx(0.9502, abs=5e-4)


def test_guarded_rejection() -> None:
    # JCGM 106:2012 8.3.3: a limit of 100 km/h, u 2 % of the reading, 99.9 %: fail from 107 km/h
    rule = Decision(Rule.PROBABILITY, 0.999)
    assert judge(107.0, 2 * 2.14, Limits(high=100.0), rule).outcome is Outcome.FAIL
    assert judge(106.0, 2 * 2.12, Limits(high=100.0), rule).outcome is Outcome.CANNOT_TELL


@pytest.mark.parametrize(
    ("value", "outcome"),
    [
        (343.0, Outcome.PASS),
        (341.5, Outcome.PASS),
        (341.4, Outcome.CANNOT_TELL),
        (338.6, Outcome.CANNOT_TELL),
        (338.4, Outcome.FAIL),
        (347.0, Outcome.CANNOT_TELL),
        (349.6, Outcome.FAIL),
    ],
)
def test_guarded_acceptance(value: float, outcome: Outcome) -> None:
    assert judge(value, 1.5, Limits(340.0, 348.0)).outcome is outcome


def test_simple_acceptance() -> None:
    simple = Decision(Rule.SIMPLE)
    assert judge(340.0, 1.5, Limits(340.0, 348.0), simple).outcome is Outcome.PASS
    assert judge(339.9, 1.5, Limits(340.0, 348.0), simple).outcome is Outcome.FAIL
    assert judge(339.9, 1.5, Limits(340.0, 348.0), simple).guard == 0.0


@pytest.mark.parametrize("rule", list(Rule))
@pytest.mark.parametrize("value", [300.0, 343.0, 344.0, 400.0])
def test_no_verdict_where_the_band_is_narrower(rule: Rule, value: float) -> None:
    found = judge(value, 1.5, Limits(343.0, 345.0), Decision(rule))
    assert found.outcome is Outcome.CANNOT_TELL
    assert "narrower than the uncertainty" in found.reason
    assert found.probability is not None


@pytest.mark.parametrize("expanded", [None, 0.0, 5e-324])
def test_no_verdict_without_an_uncertainty(expanded: float | None) -> None:
    """The last one is the least number above zero: half of it is zero."""
    found = judge(343.0, expanded, Limits(340.0, 348.0))
    assert (found.outcome, found.probability) == (Outcome.CANNOT_TELL, None)
    assert "not known" in found.reason


@pytest.mark.parametrize("limits", [(None, None), (5.0, 5.0), (6.0, 5.0)])
def test_bands_without_sense_are_refused(limits: tuple[float | None, float | None]) -> None:
    with pytest.raises(ValueError, match="limit"):
        Limits(*limits)


def test_the_rule_is_printed() -> None:
    assert "99 %" in judge(1.0, 0.1, Limits(high=2.0), Decision(Rule.PROBABILITY, 0.99)).rule
    with pytest.raises(ValueError, match="probability"):
        Decision(Rule.PROBABILITY, 0.4)


@given(
    value=st.floats(200, 500),
    expanded=st.floats(0.01, 30),
    rule=st.sampled_from(list(Rule)),
    probability=st.floats(0.6, 0.999),
    scale=st.sampled_from([1e5, 14.503773773, 0.1]),
)
def test_the_unit_does_not_matter(
    value: float, expanded: float, rule: Rule, probability: float, scale: float
) -> None:
    """And a pass is never less probable than a fail would be."""
    decision = Decision(rule, probability)
    band = Limits(340.0, 348.0)
    near = abs(abs(inside_by(value, band)) - judge(value, expanded, band, decision).guard)
    found = judge(value, expanded, band, decision)
    other = judge(scale * value, scale * expanded, Limits(scale * 340.0, scale * 348.0), decision)
    if near > 1e-6 and abs(expanded - 4.0) > 1e-9:
        assert found.outcome is other.outcome
    assert found.probability == pytest.approx(other.probability, abs=1e-6)
    if found.outcome is Outcome.PASS and rule is not Rule.SIMPLE:
        assert found.probability is not None
        assert found.probability >= min(probability, 0.95)
