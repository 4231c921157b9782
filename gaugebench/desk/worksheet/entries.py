"""Particulars and readings as they are typed. No Qt."""

from __future__ import annotations

import math
from collections.abc import Mapping

from gaugebench.desk.words import tr
from gaugebench.errors import UnitError
from gaugebench.model.job import Value
from gaugebench.model.trace import Particulars
from gaugebench.quantity import Dimension, parse, unit

FIELDS: tuple[tuple[str, str], ...] = (
    ("machine", "Machine"),
    ("serial", "Serial number"),
    ("hour_meter_h", "Hour meter, h"),
    ("site", "Site"),
    ("customer", "Customer"),
    ("technician", "Technician"),
    ("job", "Job"),
)


def particulars(texts: Mapping[str, str]) -> Particulars:
    """What was typed. Raises `ValueError` with a sentence where the hour meter is no number."""
    written = texts.get("hour_meter_h", "").strip().replace(",", ".").replace(" ", "")
    try:
        hours = float(written) if written else None
    except ValueError as fault:
        raise ValueError(
            tr("The hour meter “{text}” is not a number of hours.", text=written)
        ) from fault
    plain = {k: v.strip() for k, v in texts.items() if k != "hour_meter_h"}
    return Particulars(hour_meter_h=hours, **plain)


def reading(text: str, spread: str, dimension: Dimension, shown_in: str) -> Value:
    """A reading typed by hand. shown_in: the unit shown beside the line, taken where none is typed.

    spread: its ± (k = 2), empty where not known. Raises `UnitError`.
    """
    value = _finite(parse(_with_unit(text, shown_in), dimension), text)
    if not spread.strip():
        return Value(value=value, unit=dimension.value)
    end = _finite(parse(_with_unit(spread.strip().lstrip("±"), shown_in), dimension), spread)
    # A spread of 9 °F is 5 °C, not −13 °C.
    written = spread.strip().lstrip("±0123456789.,−-+ ") or shown_in
    half = end - unit(written).to_inside(0.0)
    if half < 0:
        raise UnitError(tr("The ± “{text}” must not be below zero.", text=spread))
    return Value(value=value, unit=dimension.value, expanded=half)


def optional(text: str, dimension: Dimension, shown_in: str) -> float | None:
    """A number that may be left out, in the unit used inside. Raises `UnitError`."""
    if not text.strip():
        return None
    return _finite(parse(_with_unit(text, shown_in), dimension), text)


def count(text: str) -> float:
    """A bare number. Raises `UnitError`."""
    try:
        return _finite(float(text.strip().replace(",", ".")), text)
    except ValueError as fault:
        raise UnitError(tr("“{text}” is not a number.", text=text)) from fault


def degrees(text: str) -> float:
    """Turns from degrees as typed; in is positive. Raises `UnitError`."""
    written = text.strip().removesuffix("°").strip().replace(",", ".").replace("−", "-")
    try:
        return _finite(float(written), text) / 360.0
    except ValueError as fault:
        raise UnitError(
            tr("“{text}” is not a number of degrees; in is positive, out negative.", text=text)
        ) from fault


def _finite(value: float, text: str) -> float:
    if not math.isfinite(value):
        raise UnitError(tr("“{text}” is not a number.", text=text))
    return value


def _with_unit(text: str, shown_in: str) -> str:
    written = text.strip().replace(",", ".")
    return f"{written} {shown_in}" if written and written[-1].isdigit() else written
