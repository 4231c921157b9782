"""A table of applied and indicated pressures read, and what it says of the transducer in words."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

from gaugebench.analyse.calibration import Cycle, Errors, curve, errors
from gaugebench.analyse.lines import Fit, Method
from gaugebench.errors import KitError
from gaugebench.model.arrays import F64
from gaugebench.model.figures import Absent

NAMES = {
    "terminal": "non-linearity, terminal line",
    "least_squares": "non-linearity, least squares",
    "minimum_maximum": "non-linearity, minimum-maximum",
    "hysteresis": "hysteresis",
    "repeatability": "repeatability",
    "zero_return": "zero return",
}


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """applied: shape (n,), rising, in one unit with the readings of every cycle."""

    applied: F64
    cycles: tuple[Cycle, ...]


@dataclass(frozen=True, slots=True)
class Calibrated:
    """What a table says. curves: from a reading to the pressure, by each way of laying them."""

    full_scale: float
    errors: Errors
    curves: tuple[Fit, ...]


def read_table(path: Path) -> Table:
    """Read `applied,up,down,up,down …`: a row a pressure, rising; a `down` belongs to the `up`
    before it.

    Raises `KitError` with the row and column at fault.
    """
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = [row for row in csv.reader(file) if any(cell.strip() for cell in row)]
    except (OSError, UnicodeDecodeError, csv.Error) as fault:
        raise KitError(f"{path} cannot be read as a calibration table: {fault}.") from fault
    head = [cell.strip().lower() for cell in rows[0]] if rows else []
    runs = head[1:]
    follows = all(a == "up" for a, b in pairwise(runs) if b == "down")
    if head[:1] != ["applied"] or runs[:1] != ["up"] or not {*runs} <= {"up", "down"}:
        follows = False
    if not follows:
        raise KitError(
            f"{path}: the first row names the columns: applied,up,down and, for further cycles, "
            "up,down again."
        )
    if len(rows) < 4:
        raise KitError(f"{path} holds {len(rows) - 1} pressures; a calibration takes three.")
    values = np.array([_numbers(path, n, row, len(head)) for n, row in enumerate(rows[1:], 2)])
    applied = values[:, 0]
    if np.any(np.diff(applied) <= 0):
        at = int(np.flatnonzero(np.diff(applied) <= 0)[0]) + 3
        raise KitError(f"{path}, row {at}: the applied pressures rise from row to row.")
    cycles = []
    for place, name in enumerate(runs, 1):
        if name == "up":
            down = values[:, place + 1] if runs[place : place + 1] == ["down"] else None
            cycles.append(Cycle(values[:, place], down))
    return Table(applied, tuple(cycles))


def _numbers(path: Path, number: int, row: list[str], count: int) -> list[float]:
    if len(row) != count:
        raise KitError(f"{path}, row {number}: {len(row)} values stand where {count} are named.")
    found = []
    for column, cell in enumerate(row, 1):
        try:
            value = float(cell)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            raise KitError(
                f"{path}, row {number}, column {column}: “{cell.strip()}” is no number; write it "
                "with a decimal point."
            )
        found.append(value)
    return found


def calibrated(table: Table, full_scale: float | None = None, degree: int = 1) -> Calibrated:
    """Errors in % of full scale and the curves from reading to pressure.

    full_scale: in the table's unit; by default its highest applied pressure. degree: 1 or 2.
    Raises `KitError` where the readings do not tell a curve.
    """
    span = full_scale if full_scale is not None else float(table.applied[-1])
    mean = np.mean([cycle.up for cycle in table.cycles], axis=0)
    try:
        curves = tuple(curve(mean, table.applied, method, degree) for method in Method)
        found = errors(table.applied, table.cycles, span)
    except ValueError as fault:
        raise KitError(f"The table does not make a calibration: {fault}.") from fault
    return Calibrated(span, found, curves)


def as_json(found: Calibrated) -> dict[str, object]:
    """The same as an object for programs; an absent error is its reason in words."""
    shares: dict[str, object] = {}
    for key in NAMES:
        answer = getattr(found.errors, key)
        shares[key] = str(answer.reason) if isinstance(answer, Absent) else answer.value
    return {
        "schema": 1,
        "full_scale": found.full_scale,
        "errors_pct_fs": shares,
        "curves": [
            {
                "method": str(one.method),
                "coefficients": [float(c) for c in one.coefficients],
                "largest_deviation": one.largest,
            }
            for one in found.curves
        ],
    }


def as_text(found: Calibrated, unit: str) -> str:
    """A table for reading, pressures in this unit."""
    lines = [f"Full scale {found.full_scale:g} {unit}; errors in % of full scale"]
    for key, name in NAMES.items():
        answer = getattr(found.errors, key)
        said = f"— {answer.reason}" if isinstance(answer, Absent) else f"{answer.value:.3f}"
        lines.append(f"  {name:32}{said}")
    lines.append("Pressure from a reading x")
    for one in found.curves:
        powers = ("", " x", " x²")
        terms = " ".join(f"{c:+.6g}{p}" for c, p in zip(one.coefficients, powers, strict=False))
        lines.append(f"  {one.method:32}{terms}   largest deviation {one.largest:.4g} {unit}")
    return "\n".join(lines)
