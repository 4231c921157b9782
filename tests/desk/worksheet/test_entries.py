"""Readings as they are typed."""

from __future__ import annotations

from pathlib import Path

import pytest

from gaugebench.desk.worksheet.entries import degrees, reading
from gaugebench.desk.worksheet.tracefiles import keep_beside
from gaugebench.errors import UnitError
from gaugebench.quantity import Dimension


def test_the_unit_beside_the_line_is_taken_where_none_is_typed() -> None:
    value = reading("342,5", "± 1.2", Dimension.PRESSURE, "bar")
    assert value.value == pytest.approx(342.5e5)
    assert value.expanded == pytest.approx(1.2e5)
    # NIST SP 811, appendix B.8: 1 psi = 6.894 757 kPa.
    assert reading("100 psi", "", Dimension.PRESSURE, "bar").value == pytest.approx(689475.7)
    assert reading("100 psi", "", Dimension.PRESSURE, "bar").expanded is None


def test_a_spread_in_fahrenheit_is_an_interval() -> None:
    # NIST SP 811, appendix B.8: an interval of 1 °F is 1/1.8 °C; 122 °F is 50 °C.
    value = reading("122 °F", "9 °F", Dimension.TEMPERATURE, "°C")
    assert value.value == pytest.approx(50.0)
    assert value.expanded == pytest.approx(5.0)


@pytest.mark.parametrize("text", ["", "bar", "12 rpm", "1.2.3"])
def test_what_is_no_pressure_is_refused(text: str) -> None:
    with pytest.raises(UnitError):
        reading(text, "", Dimension.PRESSURE, "bar")


def test_a_spread_below_zero_is_refused() -> None:
    with pytest.raises(UnitError, match="below zero"):
        reading("12 bar", "-1 bar", Dimension.PRESSURE, "bar")


def test_degrees_are_turns_with_in_positive() -> None:
    assert degrees("+90°") == pytest.approx(0.25)
    assert degrees("−30") == pytest.approx(-1 / 12)
    with pytest.raises(UnitError, match="degrees"):
        degrees("a little")


def test_a_trace_from_elsewhere_is_copied_and_never_over_another(tmp_path: Path) -> None:
    one, two, job = (tmp_path / name for name in ("one", "two", "job"))
    for folder, text in ((one, "a"), (two, "b")):
        folder.mkdir()
        (folder / "trace.csv").write_text(text)
    job.mkdir()
    assert keep_beside(one / "trace.csv", job) == "trace.csv"
    assert keep_beside(one / "trace.csv", job) == "trace.csv"
    other = keep_beside(two / "trace.csv", job)
    assert other != "trace.csv"
    assert (job / "trace.csv").read_text() == "a"
    assert (job / other).read_text() == "b"
    assert keep_beside(job / other, job) == other
