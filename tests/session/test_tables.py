from __future__ import annotations

import pytest

from gaugebench.errors import UnitError
from gaugebench.model.figures import Absent, Event, Figure, FigureSet
from gaugebench.session.tables import Words, figure_table


@pytest.mark.parametrize(
    ("answer", "unit", "text"),
    [
        (Figure(3.43e7, "Pa", 1.2e5), "bar", "343.0 ± 1.2 bar"),
        (Figure(3.43e7, "Pa", 1.2e5), "MPa", "34.30 ± 0.12 MPa"),
        (Figure(3.43e7, "Pa", 1.0), "bar", "343.0 ± 0.1 bar"),
        (Figure(3.43e7, "Pa"), "psi", "4975 psi"),
        (Figure(-1.2649, "%", 0.2), "bar", "−1.26 ± 0.20 %"),
        (Figure(0.1234, "s", 1e-6), "bar", "0.123 ± 0.001 s"),
        (Absent("only one pump"), "bar", "— (only one pump)"),
        (Event(Figure(2.5, "s"), Figure(3e7, "Pa")), "bar", "300.0 bar at 2.500 s"),
    ],
)
def test_one_figure(answer: Figure | Absent | Event, unit: str, text: str) -> None:
    assert Words(unit).of(answer) == text


def test_a_caution_is_written_once_and_numbered() -> None:
    words = Words("bar")
    gap, still = "A gap lies inside.", "The channel stands still."
    assert words.of(Figure(1.0, "s", cautions=(gap,))) == "1.000 s [1]"
    assert words.of(Figure(2.0, "s", cautions=(still, gap))) == "2.000 s [2] [1]"
    assert words.cautions == [gap, still]


def test_no_loading_is_said() -> None:
    assert "No loading found" in figure_table(FigureSet((), {}), "bar")


def test_a_unit_of_another_kind_is_refused() -> None:
    with pytest.raises(UnitError, match="not a unit of pressure"):
        figure_table(FigureSet((), {}), "rpm")
