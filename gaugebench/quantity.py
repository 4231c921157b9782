"""Units at the boundary.

Inside the program pressures are in Pa, flows in m³/s, temperatures in °C, rotational speeds in
rpm, times in s. What a user types or a file says is turned into these here, and back. A pressure
also has a reference (gauge, absolute or sealed), which is part of how its unit is written (`psig`,
`psia`, `bar(a)`) and is never converted silently.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import TYPE_CHECKING, Any

from gaugebench.errors import UnitError

if TYPE_CHECKING:
    import pint


class Reference(StrEnum):
    """What a pressure is measured against."""

    GAUGE = "gauge"
    ABSOLUTE = "absolute"
    SEALED = "sealed"


class Dimension(StrEnum):
    """What kind of quantity a channel carries; the value is the unit used inside the program."""

    PRESSURE = "Pa"
    FLOW = "m³/s"
    TEMPERATURE = "°C"
    SPEED = "rpm"
    CURRENT = "A"
    VOLTAGE = "V"
    LENGTH = "m"
    VOLUME = "m³"
    POWER = "W"
    TIME = "s"
    RATIO = "1"
    OTHER = ""
    """Kept as it came, in a unit that the program does not work with."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit as a user writes it.

    `inside = factor * value + offset` gives the value in the unit used inside the program.
    """

    symbol: str
    dimension: Dimension
    factor: float
    offset: float = 0.0
    reference: Reference | None = None

    def to_inside(self, value: float) -> float:
        """The value in the unit used inside the program."""
        return value * self.factor + self.offset

    def from_inside(self, value: float) -> float:
        """The inverse of `to_inside`."""
        return (value - self.offset) / self.factor


PRESSURE_UNITS = ("bar", "MPa", "psi", "kgf/cm²")
"""The pressure units a technician switches between."""

# How the trade and other loggers write units, where the registry of units does not know it.
_ALIASES = {
    "kgf/cm2": "kgf/cm²", "kg/cm2": "kgf/cm²", "kg/cm²": "kgf/cm²", "kgf/cm^2": "kgf/cm²",
    "mpa": "MPa", "kpa": "kPa", "pa": "Pa", "pascal": "Pa", "mbar": "mbar",
    "degc": "°C", "deg c": "°C", "c": "°C", "celsius": "°C", "degf": "°F", "f": "°F", "deg f": "°F",
    "1/min": "rpm", "r/min": "rpm", "min-1": "rpm", "u/min": "rpm", "rev/min": "rpm",
    "l/min": "L/min", "lpm": "L/min", "gpm": "gpm", "gal/min": "gpm", "%": "%", "sec": "s",
    "ma": "mA", "mv": "mV", "v": "V", "volt": "V", "volts": "V", "amps": "A",
    "inch": "in", "inches": "in", "cc": "cm³", "cm3": "cm³", "cm^3": "cm³", "in3": "in³",
}  # fmt: skip
# The same units as the registry spells them.
_SPELLING = {
    "kgf/cm²": "kilogram_force / centimeter ** 2", "°C": "degC", "°F": "degF",
    "L/min": "liter / minute", "gpm": "gallon / minute", "m³/s": "meter ** 3 / second",
    "m³/h": "meter ** 3 / hour", "in": "inch", "kW": "kilowatt", "hp": "horsepower",
    "cm³": "centimeter ** 3", "in³": "inch ** 3", "m³": "meter ** 3",
}  # fmt: skip
_BASES = {
    Dimension.PRESSURE: "pascal", Dimension.FLOW: "meter ** 3 / second",
    Dimension.TEMPERATURE: "degC", Dimension.SPEED: "revolution / minute",
    Dimension.CURRENT: "ampere", Dimension.VOLTAGE: "volt", Dimension.LENGTH: "meter",
    Dimension.POWER: "watt", Dimension.TIME: "second", Dimension.VOLUME: "meter ** 3",
}  # fmt: skip
_REFERENCED = re.compile(
    r"^(?P<unit>psi|bar|mbar|[kM]?Pa|kgf/cm²|kgf/cm2|kg/cm2)\s*"
    r"(?:\((?P<bracket>g|a|abs|gauge|absolute|s|sealed)\)|(?P<letter>[gas])|"
    r"\s(?P<word>gauge|abs|absolute|sealed))$",
    re.IGNORECASE,
)
_LONGEST = 60
# A number raised to a power is worked out before it is a unit, and `9**9**9` for ever.
_POWER_OF_NUMBER = re.compile(r"[\d.]\s*\)*\s*(?:\*\*|\^|[⁻⁰¹²³⁴⁵⁶⁷⁸⁹])")
# A quote is passed over by one version of Python's own reading, and ends another's.
_NEVER_IN_A_UNIT = re.compile(r"[\"'\\]")
_NUMBER_AND_UNIT = re.compile(
    r"^\s*(?P<number>[-+−]?\d[\d.]*(?:[eE][-+]?\d+)?)(?![\d.])\s*(?P<unit>\S.*?)\s*$"
)


@cache
def _registry() -> pint.UnitRegistry[Any]:
    import pint  # takes 0.1 s, so only where a unit is first asked for

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True, cache_folder=None)


@cache
def unit(text: str) -> Unit:
    """The unit written as `text`, with its reference where the writing states one.

    Raises `UnitError` where the unit is unknown or of a kind that no channel carries.
    """
    written = text.strip()
    is_odd = _POWER_OF_NUMBER.search(written) or _NEVER_IN_A_UNIT.search(written)
    if len(written) > _LONGEST or is_odd:
        raise UnitError(f"“{written[:_LONGEST]}” is not a unit; write for example bar or MPa.")
    reference: Reference | None = None
    if match := _REFERENCED.match(written):
        word = (match["bracket"] or match["letter"] or match["word"]).lower()
        reference = {"g": Reference.GAUGE, "a": Reference.ABSOLUTE, "s": Reference.SEALED}[word[0]]
        written = match["unit"]
    symbol = _ALIASES.get(written.lower(), written)
    if symbol == "%":
        return Unit("%", Dimension.RATIO, 0.01)
    if symbol == "1":
        return Unit("1", Dimension.RATIO, 1.0)
    if not symbol or symbol[0].isdigit():
        raise UnitError(f"“{text}” is not a unit; write for example bar, MPa, psi, rpm or °C.")
    from tokenize import TokenError

    import pint

    registry = _registry()
    try:
        spelled = registry.Unit(_SPELLING.get(symbol, symbol))
    except (
        pint.PintError,
        TokenError,
        SyntaxError,
        AttributeError,
        ValueError,
        TypeError,
        AssertionError,
    ) as fault:  # what it raises on odd text, by experience: the second only from Python 3.12 on
        raise UnitError(
            f"The unit “{text}” is not known; write for example bar, MPa, psi, rpm or °C."
        ) from fault
    found = (d for d, b in _BASES.items() if spelled.is_compatible_with(registry.Unit(b)))
    dimension = next(found, None)
    if dimension is None:
        raise UnitError(
            f"“{text}” is a unit of {spelled.dimensionality}, which no channel carries."
        )
    if spelled.dimensionality == {"[time]": -1} and symbol not in {"rpm", "Hz"}:
        raise UnitError(f"“{text}” is not a speed; write rpm.")
    base = _BASES[dimension]
    zero = float(registry.Quantity(0.0, spelled).to(base).magnitude)
    one = float(registry.Quantity(1.0, spelled).to(base).magnitude)
    if dimension is Dimension.SPEED and symbol == "Hz":
        one *= 2 * math.pi  # a frequency of turning counts whole turns, not radians
    return Unit(symbol, dimension, one - zero, zero, reference)


def parse(text: str, dimension: Dimension) -> float:
    """The quantity written as `text`, such as `34.3 MPa`, in the unit used inside the program.

    A bare number is refused: nothing is assumed to be bar. Raises `UnitError`.
    """
    match = _NUMBER_AND_UNIT.match(text) if len(text) <= 2 * _LONGEST else None
    if match is None:
        raise UnitError(f"“{text[:_LONGEST]}” needs a number and a unit, for example “34.3 MPa”.")
    found = unit(match["unit"])
    if found.dimension is not dimension:
        raise UnitError(f"“{text}” should be in a unit such as {dimension.value}.")
    try:
        number = float(match["number"].replace("−", "-"))
    except ValueError as fault:
        raise UnitError(f"“{match['number']}” in “{text}” is not a number.") from fault
    return found.to_inside(number)


class Number(str):
    """A text of numbers and units: the same in every language but for its decimal sign."""

    __slots__ = ()


def show(value: float, shown_in: str, digits: int | None = None) -> Number:
    """`value` (in the unit used inside) as text with its unit, for example `343.0 bar`.

    `digits` is the number of decimals; by default what an instrument of that unit would show.
    """
    target = unit(shown_in)
    decimals = _DECIMALS.get(target.symbol, 2) if digits is None else digits
    number = f"{target.from_inside(value):.{decimals}f}"
    return Number(f"{number.replace('-', '−')} {shown_in}")


_DECIMALS = {
    "bar": 1,
    "MPa": 2,
    "psi": 0,
    "kgf/cm²": 1,
    "kPa": 0,
    "Pa": 0,
    "rpm": 0,
    "°C": 1,
    "L/min": 1,
    "s": 3,
    "mm": 0,
}
