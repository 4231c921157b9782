"""Which files say everything themselves, so that they are read without a look at them first."""

from __future__ import annotations

from pathlib import Path

import pytest

from gaugebench.model.trace import Trace
from gaugebench.store.export import write_csv
from gaugebench.store.importing.decided import is_fully_decided
from gaugebench.store.importing.plan import plan_import
from gaugebench.store.importing.recipe import Recipe
from gaugebench.store.opening import open_trace

ROWS = "\n0.00,1.5,2.5\n0.01,1.6,2.6\n"


def _is_decided(path: Path, recipe: Recipe | None = None) -> bool:
    return is_fully_decided(plan_import(path, recipe or Recipe()))


@pytest.mark.parametrize(
    "head",
    [
        "time [s],pump1.main [bar],pump2.main [bar]",
        "t [ms],pump1.main [psig],engine.speed [rpm]",
        "time_s,pump1.main [MPa],pump1.control [bar(g)]",
    ],
)
def test_roles_and_units_in_every_heading_are_enough(tmp_path: Path, head: str) -> None:
    path = tmp_path / "log.csv"
    path.write_text(head + ROWS, encoding="utf-8")
    assert _is_decided(path)


@pytest.mark.parametrize(
    ("head", "recipe"),
    [
        ("time [s],P1 [bar],pump2.main [bar]", {}),
        ("time [s],P1 [bar],P2 [bar]", {"roles": {"P1": "pump1.main", "P2": "pump2.main"}}),
        ("time [s],pump1.main,pump2.main [bar]", {"units": {"pump1.main": "bar"}}),
        ("t,pump1.main [bar],pump2.main [bar]", {"time_unit": "s"}),
        ("n,pump1.main [bar],pump2.main [bar]", {"rate_hz": 100.0}),
    ],
)
def test_what_is_not_in_the_headings_is_to_be_looked_at(
    tmp_path: Path, head: str, recipe: dict[str, object]
) -> None:
    path = tmp_path / "log.csv"
    path.write_text(head + ROWS, encoding="utf-8")
    assert not _is_decided(path, Recipe.model_validate(recipe))


def test_a_column_of_words_or_a_date_is_to_be_looked_at(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("time [s],pump1.main [bar],Note\n0.0,1,ok\n0.1,2,ok\n", encoding="utf-8")
    assert not _is_decided(path)
    path.write_text(
        "time,pump1.main [bar]\n2025-04-05 08:00:00,1\n2025-04-05 08:00:01,2\n",
        encoding="utf-8",
    )
    assert not _is_decided(path)


def test_our_own_export_is_decided_and_keeps_what_a_pressure_refers_to(
    small_trace: Trace, tmp_path: Path
) -> None:
    path = write_csv(small_trace, tmp_path / "out.csv")
    assert _is_decided(path)
    for got, true in zip(open_trace(path).series, small_trace.series, strict=True):
        assert got.channel.role == true.channel.role
        assert got.channel.reference is true.channel.reference
        assert got.channel.dimension is true.channel.dimension
