"""Numbers with their units.

One bar is 1e5 Pa and one megapascal 1e6 Pa exactly; one psi is 6894.757 Pa and one kgf/cm² is
98066.5 Pa (NIST Special Publication 811, 2008, appendix B.8).
"""

from __future__ import annotations

import math

import pytest
from pytestqt.qtbot import QtBot

from gaugebench.desk.shown import PRESSURES, Shown, duration, plain
from gaugebench.desk.units import Units
from gaugebench.desk.words import speak
from gaugebench.model.figures import Absent, Event, Figure
from gaugebench.quantity import Dimension, unit


@pytest.mark.parametrize(
    ("symbol", "expected"),
    [("bar", "343.0 bar"), ("MPa", "34.30 MPa"), ("psi", "4975 psi"), ("kgf/cm²", "349.8 kgf/cm²")],
)
def test_one_pressure_in_every_unit(symbol: str, expected: str) -> None:
    assert Shown(symbol).text(34.3e6, Dimension.PRESSURE) == expected


@pytest.mark.parametrize("symbol", sorted(PRESSURES))
def test_the_factors_are_those_of_the_registry_of_units(symbol: str) -> None:
    assert PRESSURES[symbol] == pytest.approx(unit(symbol).factor, rel=1e-12)


@pytest.mark.parametrize("dimension", list(Dimension))
def test_every_other_unit_is_that_of_the_registry(dimension: Dimension) -> None:
    symbol = Shown().symbol(dimension)
    if dimension is Dimension.OTHER:
        assert symbol == ""
        return
    assert Shown().factor(dimension) == pytest.approx(1.0 / unit(symbol).factor, rel=1e-12)
    assert unit(symbol).dimension is dimension


def test_a_missing_value_is_a_dash_and_never_a_number() -> None:
    assert Shown().text(math.nan, Dimension.PRESSURE) == "—"


def test_a_small_negative_is_a_true_minus_and_zero_has_none() -> None:
    assert Shown().text(-8e4, Dimension.PRESSURE) == "−0.8 bar"
    assert plain(-0.04, 1) == "0.0"


def test_figures_have_their_uncertainty_and_it_is_never_rounded_to_nothing() -> None:
    figure = Figure(3.2534e7, "Pa", 9.0e3)
    assert Shown().figure(figure) == "325.3 ± 0.1 bar"
    assert Shown("MPa").figure(figure) == "32.53 ± 0.01 MPa"


def test_answers() -> None:
    time, pressure = Figure(2.38, "s"), Figure(3.12e7, "Pa")
    assert Shown().answer(Event(time, pressure)) == "312.0 bar @ 2.380 s"
    assert Shown().answer(Absent("too fast")) == "—"
    assert Shown().answer(Figure(-0.84, "%")) == "−0.84 %"


def test_german_writes_a_comma() -> None:
    speak("de")
    assert Shown().text(34.3e6, Dimension.PRESSURE) == "343,0 bar"


def test_lengths_of_time_are_said_as_people_say_them() -> None:
    assert [duration(s) for s in (19, 200, 5400)] == ["19 s", "3 min 20 s", "1 h 30 min"]


def test_a_switch_is_told_once_and_only_where_something_changed(qtbot: QtBot) -> None:
    units = Units("bar")
    told: list[str] = []
    units.changed.connect(lambda: told.append(units.shown.pressure))
    units.set_pressure("psi")
    units.set_pressure("psi")
    assert told == ["psi"]
    with pytest.raises(KeyError):
        units.set_pressure("furlong")
