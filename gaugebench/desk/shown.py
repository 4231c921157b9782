"""How quantities are shown: the pressure unit chosen, decimals, the decimal sign. No Qt."""

from __future__ import annotations

import math
from dataclasses import dataclass

from gaugebench.desk.words import decimal_sign
from gaugebench.model.band import Band
from gaugebench.model.figures import Absent, Answer, Event, Figure
from gaugebench.quantity import Dimension

PRESSURES = {"bar": 1e5, "MPa": 1e6, "psi": 6894.757293168361, "kgf/cm²": 98066.5}
"""Pa in one of each. Kept here because the registry of units costs 0.1 s of the start-up."""
_PRESSURE_DECIMALS = {"bar": 1, "MPa": 2, "psi": 0, "kgf/cm²": 1}
_OTHERS: dict[Dimension, tuple[str, float, int]] = {
    Dimension.FLOW: ("L/min", 60_000.0, 1),
    Dimension.TEMPERATURE: ("°C", 1.0, 1),
    Dimension.SPEED: ("rpm", 1.0, 0),
    Dimension.CURRENT: ("mA", 1e3, 1),
    Dimension.VOLTAGE: ("V", 1.0, 2),
    Dimension.LENGTH: ("mm", 1e3, 1),
    Dimension.VOLUME: ("L", 1e3, 2),
    Dimension.POWER: ("kW", 1e-3, 1),
    Dimension.TIME: ("s", 1.0, 3),
    Dimension.RATIO: ("%", 100.0, 1),
    Dimension.OTHER: ("", 1.0, 2),
}
ABSENT = "—"


@dataclass(frozen=True, slots=True)
class Shown:
    """One choice of units. `shown = inside * factor`: every unit's zero is the inside zero."""

    pressure: str = "bar"

    def symbol(self, dimension: Dimension) -> str:
        """The unit's symbol."""
        return self.pressure if dimension is Dimension.PRESSURE else _OTHERS[dimension][0]

    def factor(self, dimension: Dimension) -> float:
        """What one inside unit is in the unit shown."""
        if dimension is Dimension.PRESSURE:
            return 1.0 / PRESSURES[self.pressure]
        return _OTHERS[dimension][1]

    def decimals(self, dimension: Dimension) -> int:
        """How many decimals an instrument of that unit shows."""
        if dimension is Dimension.PRESSURE:
            return _PRESSURE_DECIMALS[self.pressure]
        return _OTHERS[dimension][2]

    def number(self, value: float, dimension: Dimension, digits: int | None = None) -> str:
        """The number alone, for where the unit stands beside it; a dash where there is none."""
        if not math.isfinite(value):
            return ABSENT
        places = self.decimals(dimension) if digits is None else digits
        return plain(value * self.factor(dimension), places)

    def text(self, value: float, dimension: Dimension, digits: int | None = None) -> str:
        """The number with its unit."""
        number = self.number(value, dimension, digits)
        symbol = self.symbol(dimension)
        return number if number == ABSENT or not symbol else f"{number} {symbol}"

    def band(self, band: Band, dimension: Dimension) -> str:
        """Limits with their unit: `336.0 … 348.0 bar`, `≥ 30.0 bar`, `≤ 8.0 bar`."""
        if band.low is None:
            high = band.high if band.high is not None else math.nan
            return f"≤ {self.text(high, dimension)}"
        if band.high is None:
            return f"≥ {self.text(band.low, dimension)}"
        return f"{self.number(band.low, dimension)} … {self.text(band.high, dimension)}"

    def figure(self, figure: Figure, *, with_spread: bool = True) -> str:
        """A figure with its ± (k = 2) and unit, for example `343.0 ± 1.2 bar`."""
        factor, symbol, places = self._of_figure(figure.unit)
        number = plain(figure.value * factor, places)
        if with_spread and figure.expanded is not None:
            number += f" ± {plain(_seen(figure.expanded * factor, places), places)}"
        return f"{number} {symbol}".rstrip()

    def answer(self, answer: Answer | Event) -> str:
        """A figure, an instant with its pressure, or a dash."""
        match answer:
            case Absent():
                return ABSENT
            case Event(time, pressure):
                at = self.figure(time, with_spread=False)
                return f"{self.answer(pressure)} @ {at}"
            case Figure():
                return self.figure(answer)

    def _of_figure(self, inside: str) -> tuple[float, str, int]:
        if inside == "%":
            return 1.0, "%", 2
        dimension = Dimension(inside)
        return self.factor(dimension), self.symbol(dimension), self.decimals(dimension)


def plain(value: float, places: int) -> str:
    """A number with a true minus and the language's decimal sign; never “−0.0”."""
    text = f"{value:.{places}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")
    return text.replace("-", "−").replace(".", decimal_sign())


def clock(seconds: float) -> str:
    """An instant as h:min:s or min:s."""
    sign, whole = ("−" if seconds < 0 else ""), round(abs(seconds))
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    head = f"{hours}:{minutes:02}" if hours else f"{minutes}"
    return f"{sign}{head}:{left:02}"


def duration(seconds: float) -> str:
    """A length of time in the units a person says it in."""
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    minutes, rest = divmod(whole, 60)
    if minutes < 60:
        return f"{minutes} min {rest} s"
    return f"{minutes // 60} h {minutes % 60} min"


def _seen(expanded: float, places: int) -> float:
    """An uncertainty rounded up to the last place shown, so that it never shows as nothing."""
    step = 10.0**-places
    return math.ceil(expanded / step - 1e-9) * step
