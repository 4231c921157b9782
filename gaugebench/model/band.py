"""A band: the limits that a reading is held against, as a machine sheet writes them.

`343 bar ± 5 bar`, `343 bar ± 1.5 %`, `338 bar to 348 bar`, `at least 30 bar`, `at most 5 bar`.
A unit may be written once, after the last number (`338 to 348 bar`); a band without any unit is
refused.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from gaugebench.errors import UnitError
from gaugebench.model.saying import Saying
from gaugebench.quantity import Dimension, Number, Reference, show, unit

_PART = re.compile(r"^(?P<number>[-−]?\d[\d.]*)\s*(?P<unit>\S.*)?$")
_TOLERANCE = re.compile(r"\s*(?:±|\+/-|\+-)\s*")
_RANGE = re.compile(r"\s+(?:to|…)\s+|\s+[–-]\s+")
_ONE_SIDED = re.compile(r"^(?P<side>at least|at most|≥|≤|>=|<=)\s*(?P<rest>.+)$")
_DIGITS = {"s": 2, "mm": 0}
"""Decimals of a limit, where a sheet gives fewer than a trace shows."""
_HELP = "write for example “343 bar ± 5 bar”, “338 bar to 348 bar”, “at least 30 bar”"


@dataclass(frozen=True, slots=True)
class Band:
    """Limits in the unit used inside the program; at least one of them is there.

    aim: what to set to, the nominal value or the middle; None for a one-sided band.
    shown_in: the unit the sheet wrote it in.
    """

    low: float | None
    high: float | None
    shown_in: str
    aim: float | None = None

    @property
    def width(self) -> float | None:
        """high − low, or None for a one-sided band."""
        return None if self.low is None or self.high is None else self.high - self.low

    def holds(self, value: float) -> bool:
        """Whether the value itself lies in the band, its uncertainty left out."""
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)

    def text(self, shown_in: str | None = None) -> str:
        """The limits in a unit, by default the one they were written in."""
        there = shown_in or self.shown_in
        digits = _DIGITS.get(there)
        if self.low is None:
            return Saying("at most {limit}", limit=show(self.high or 0.0, there, digits))
        if self.high is None:
            return Saying("at least {limit}", limit=show(self.low, there, digits))
        low = Number(show(self.low, there, digits).removesuffix(there).rstrip())
        return Saying("{low} to {high}", low=low, high=show(self.high, there, digits))


def parse_band(text: str, dimension: Dimension) -> Band:
    """The band written as `text`. Raises `UnitError` that says what was expected."""
    written = text.strip()
    if match := _ONE_SIDED.match(written):
        value, symbol = _quantity(match["rest"], dimension, None)
        is_lower = match["side"] in {"at least", "≥", ">="}
        return Band(value if is_lower else None, None if is_lower else value, symbol)
    if len(ends := _TOLERANCE.split(written)) == 2:
        return _with_tolerance(ends[0], ends[1], dimension)
    if len(ends := _RANGE.split(written)) == 2:
        high, symbol = _quantity(ends[1], dimension, None)
        low, _ = _quantity(ends[0], dimension, symbol)
        if low >= high:
            raise UnitError(f"“{text}” must have its lower limit first.")
        return Band(low, high, symbol, (low + high) / 2)
    raise UnitError(f"“{text}” is not a band; {_HELP}.")


def _with_tolerance(middle: str, tolerance: str, dimension: Dimension) -> Band:
    part = _PART.match(tolerance)
    if part is None or not part["unit"]:
        raise UnitError(f"The tolerance “{tolerance}” needs a unit or %; {_HELP}.")
    if part["unit"].strip() == "%" and dimension is not Dimension.RATIO:
        value, symbol = _quantity(middle, dimension, None)
        half = abs(value) * float(part["number"]) / 100
    else:
        end, symbol = _quantity(tolerance, dimension, None)
        half = end - unit(symbol).to_inside(0.0)  # a tolerance of 9 °F is 5 °C, not −13 °C
        value, symbol = _quantity(middle, dimension, symbol)
    if half <= 0:
        raise UnitError(f"The tolerance “{tolerance}” must be greater than zero.")
    return Band(value - half, value + half, symbol, value)


def _quantity(text: str, dimension: Dimension, fallback: str | None) -> tuple[float, str]:
    """A number with its unit, or with the unit written elsewhere in the band."""
    part = _PART.match(text.strip())
    if part is None:
        raise UnitError(f"“{text}” is not a number with a unit; {_HELP}.")
    symbol = (part["unit"] or fallback or "").strip()
    if not symbol:
        raise UnitError(f"“{text}” has no unit; {_HELP}.")
    found = unit(symbol)
    if found.dimension is not dimension:
        raise UnitError(
            f"“{symbol}” does not suit here; a {dimension.name.lower()} is written in units "
            f"such as {dimension.value}."
        )
    if found.reference not in {None, Reference.GAUGE}:
        raise UnitError(f"“{symbol}” is not gauge pressure; sheets give gauge pressures only.")
    try:
        number = float(part["number"].replace("−", "-"))
    except ValueError as fault:
        raise UnitError(f"“{part['number']}” is not a number.") from fault
    return found.to_inside(number), symbol
