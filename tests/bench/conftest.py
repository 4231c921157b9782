"""Where measurements go: `measured` notes one row for the table that `start.py bench` writes."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Protocol

import pytest

ROWS = "GAUGEBENCH_BENCH_ROWS"
"""The file, one JSON object a line, that `start.py bench` names in the environment."""


def keep(row: dict[str, object]) -> None:
    """Add a row to what `start.py bench` makes its table of; nothing where it does not run."""
    if target := os.environ.get(ROWS):
        with Path(target).open("a", encoding="utf-8") as out:
            out.write(json.dumps(row, ensure_ascii=False) + "\n")


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """A measurement that failed is named below the table."""
    if report.failed:
        keep({"failed": report.nodeid})


class Measured(Protocol):
    """Notes one measured figure."""

    def __call__(
        self, figure: str, value: float, unit: str, *, limit: float | None = None, note: str = ""
    ) -> None:
        """`figure`: what was measured, in words; `limit`: what it is held against, same unit."""


@pytest.fixture
def measured(request: pytest.FixtureRequest) -> Measured:
    """Call with figure, value, unit and what it is held against; printed, and kept for the table.

    Example: `measured("redraw of 8 curves of 3.6 M samples, median", 8.1, "ms", limit=50)`.
    """

    def note_row(
        figure: str, value: float, unit: str, *, limit: float | None = None, note: str = ""
    ) -> None:
        row = {
            "figure": figure,
            "value": float(value),
            "unit": unit,
            "limit": None if limit is None else float(limit),
            "note": note,
            "test": request.node.nodeid,
        }
        against = "" if limit is None else f" (against {limit:g} {unit})"
        print(f"\n{figure}: {value:.4g} {unit}{against} {note}".rstrip())  # noqa: T201
        keep(row)

    return note_row
