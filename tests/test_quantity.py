"""Units at the boundary. Sources: check-value rows are named beside each number."""

from __future__ import annotations

import pint
import pytest
import scipy.constants
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.errors import UnitError
from gaugebench.quantity import PRESSURE_UNITS, Dimension, Reference, parse, show, unit


@pytest.mark.parametrize(
    ("text", "pascals", "relative"),
    [
        # Exact from the pound, the inch and standard gravity: 0.45359237 * 9.80665 / 0.0254**2.
        ("1 psi", 6894.757293168361, 1e-12),
        ("1 bar", 1e5, 0.0),
        ("1 MPa", 1e6, 0.0),
        ("1 kgf/cm²", 98066.5, 1e-15),
        ("1 kg/cm2", 98066.5, 1e-15),
        # Conventional inch of mercury, 25.4 * 133.322387415 (NIST SP 811 App. B, from memory).
        ("1 inHg", 3386.388640341, 1e-9),
        ("1 atm", 101325.0, 1e-12),
    ],
)
def test_pressure_factors(text: str, pascals: float, relative: float) -> None:
    assert parse(text, Dimension.PRESSURE) == pytest.approx(pascals, rel=relative or 1e-15)


def test_factors_agree_with_scipy() -> None:
    assert unit("psi").factor == pytest.approx(scipy.constants.psi, rel=1e-12)
    assert unit("L/min").factor == pytest.approx(scipy.constants.liter / 60, rel=1e-12)
    assert unit("gpm").factor == pytest.approx(scipy.constants.gallon / 60, rel=1e-12)


def test_factors_agree_with_pint() -> None:
    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    for ours, theirs in (("bar", "bar"), ("MPa", "megapascal"), ("psi", "psi")):
        assert unit(ours).factor == pytest.approx(
            registry.Quantity(1, theirs).to("Pa").m, rel=1e-12
        )


def test_worked_conversions() -> None:
    # 3000 psi = 206.84271879505 bar; 35 MPa = 5076.320820557 psi = 356.900674542 kgf/cm²
    # (recomputed from the exact definitions above).
    assert unit("bar").from_inside(parse("3000 psi", Dimension.PRESSURE)) == pytest.approx(
        206.84271879505, abs=1e-9
    )
    inside = parse("35 MPa", Dimension.PRESSURE)
    assert unit("psi").from_inside(inside) == pytest.approx(5076.320820557, abs=1e-8)
    assert unit("kgf/cm²").from_inside(inside) == pytest.approx(356.900674542, abs=1e-8)


def test_temperature_has_an_offset() -> None:
    # 176 °F = 80 °C, by the definition of the Fahrenheit scale.
    assert parse("176 °F", Dimension.TEMPERATURE) == pytest.approx(80.0, abs=1e-10)


def test_speed_counts_turns() -> None:
    assert parse("1800 rpm", Dimension.SPEED) == pytest.approx(1800.0)
    assert parse("30 Hz", Dimension.SPEED) == pytest.approx(1800.0)


@pytest.mark.parametrize(
    ("text", "reference"),
    [
        ("psig", Reference.GAUGE),
        ("psia", Reference.ABSOLUTE),
        ("bar(a)", Reference.ABSOLUTE),
        ("bar (g)", Reference.GAUGE),
        ("bar abs", Reference.ABSOLUTE),
        ("MPa(sealed)", Reference.SEALED),
        ("Pa", None),
        ("bar", None),
    ],
)
def test_the_reference_is_part_of_the_unit(text: str, reference: Reference | None) -> None:
    assert unit(text).reference is reference
    assert unit(text).dimension is Dimension.PRESSURE


@pytest.mark.parametrize(
    "text",
    ["34.3", "", "MPa", "34.3 kg", "1.2.3 bar", "34,3 MPa", "3 5 bar", "1 b" + " " * 100_000 + "r"],
)
def test_what_cannot_be_read_is_refused(text: str) -> None:
    with pytest.raises(UnitError):
        parse(text, Dimension.PRESSURE)


@given(
    st.floats(-1e9, 1e9, allow_nan=False),
    st.sampled_from([*PRESSURE_UNITS, "psia", "°F", "rpm", "L/min", "mA"]),
)
def test_there_and_back(value: float, symbol: str) -> None:
    found = unit(symbol)
    assert found.from_inside(found.to_inside(value)) == pytest.approx(value, rel=1e-9, abs=1e-6)


def test_shown_with_its_unit() -> None:
    assert show(3.43e7, "bar") == "343.0 bar"
    assert show(3.43e7, "psi") == "4975 psi"
    assert show(-8e4, "bar") == "−0.8 bar"


@pytest.mark.parametrize(
    "text",
    [
        "bar*9**9**9",
        "bar * (9) ^ 9 ^ 9",
        "bar*9⁹⁹⁹⁹⁹⁹⁹⁹⁹",
        "m**9**9**9",
        "(" * 5000,
        "bar/" * 20_000,
    ],
)
def test_a_unit_that_would_be_worked_out_for_ever_is_refused(text: str) -> None:
    with pytest.raises(UnitError, match="is not a unit"):
        unit(text)


def test_powers_of_units_are_units() -> None:
    assert unit("m**3/h").factor == pytest.approx(1 / 3600)
    assert unit("N/mm²").factor == pytest.approx(1e6)
    assert unit("kgf/cm^2").dimension is Dimension.PRESSURE


@pytest.mark.parametrize("text", ['"', "'bar", "bar\\", "§", "bar)", "MPa ''"])
def test_what_is_no_word_at_all_is_no_unit(text: str) -> None:
    """Python's own reading of words, which the library uses, fails in another way each version."""
    with pytest.raises(UnitError):
        unit(text)
