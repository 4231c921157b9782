"""Figures as a table of text, for the command line."""

from __future__ import annotations

from collections.abc import Iterator

from gaugebench.errors import UnitError
from gaugebench.model.figures import Absent, Answer, Event, FigureSet, LoadingFigures, PumpFigures
from gaugebench.quantity import Dimension, show, unit


def figure_table(found: FigureSet, pressure_unit: str) -> str:
    """All figures by loading and pump, each with its unit and its uncertainty (k = 2).

    Cautions stand once, below, and are numbered in the rows. Raises `UnitError` where
    `pressure_unit` is not a unit of pressure.
    """
    words = Words(pressure_unit)
    many = len(found.loadings)
    count = "No loading found." if not many else f"{many} loading{'s' if many > 1 else ''}."
    lines = [f"Gauge pressures; ± is the expanded uncertainty (k = 2). {count}"]
    lines += [f"Note: {caution}" for caution in found.cautions]
    for number, loading in enumerate(found.loadings, start=1):
        lines += ["", *_loading(number, loading, words)]
    if words.cautions:
        lines += ["", *(f"[{n}] {said}" for n, said in enumerate(words.cautions, start=1))]
    return "\n".join(lines)


def _loading(number: int, loading: LoadingFigures, words: Words) -> Iterator[str]:
    yield f"Loading {number}: {loading.start_s:.3f} s to {loading.end_s:.3f} s"
    for pump, figures in sorted(loading.pumps.items()):
        yield f"  Pump {pump}"
        for name, answer in _of_pump(figures):
            yield f"    {name:16} {words.of(answer)}"
        limited = figures.limited_by
        yield f"    {'limited by':16} {limited.limiter.value} ({limited.reason})"
    for name, answer in (
        ("imbalance", loading.imbalance),
        ("running imbalance", loading.running_imbalance),
        ("sync lag", loading.sync_lag),
        ("pumps in sync from", loading.in_sync),
        ("cycle time", loading.cycle_time),
    ):
        yield f"  {name:18} {words.of(answer)}"


def _of_pump(figures: PumpFigures) -> tuple[tuple[str, Answer | Event], ...]:
    return (
        ("initial", figures.initial),
        ("peak", figures.peak),
        ("raw peak", figures.raw_peak),
        ("settled", figures.settled),
        ("half way at", figures.t50),
        ("settle", figures.settle),
        ("overshoot", figures.overshoot),
        ("ripple", figures.ripple_pp),
        ("relief crack", figures.relief_crack),
        ("override", figures.override),
        ("de-stroke onset", figures.destroke_onset),
        ("control settled", figures.control_settled),
    )


class Words:
    """Figures in words: `343.0 ± 1.2 bar [1]`, or why one is absent.

    shown_in: the unit of pressures. Gathers the cautions that it met, in order.
    """

    def __init__(self, shown_in: str) -> None:
        self._pressure = unit(shown_in)
        if self._pressure.dimension is not Dimension.PRESSURE:
            raise UnitError(f"“{shown_in}” is not a unit of pressure; write bar, MPa or psi.")
        least = show(self._pressure.factor, self._pressure.symbol).partition(" ")[0]
        self._pressure_places = len(least.partition(".")[2])
        self.cautions: list[str] = []

    def of(self, answer: Answer | Event) -> str:
        """One figure."""
        match answer:
            case Absent(reason):
                return f"— ({reason})"
            case Event(time, pressure):
                return f"{self.of(pressure)} at {self.of(time)}"
        is_pressure = answer.unit == Dimension.PRESSURE.value
        factor = self._pressure.factor if is_pressure else 1.0
        places = self._pressure_places if is_pressure else {"%": 2, "rpm": 0}.get(answer.unit, 3)
        text = _number(answer.value / factor, places)
        if answer.expanded is not None:
            # Never shown as ± 0: at least one in the last place that is shown.
            text += f" ± {_number(max(answer.expanded / factor, 10.0**-places), places)}"
        symbol = self._pressure.symbol if is_pressure else answer.unit
        return " ".join([text, symbol, *map(self._note, answer.cautions)])

    def _note(self, caution: str) -> str:
        if caution not in self.cautions:
            self.cautions.append(caution)
        return f"[{self.cautions.index(caution) + 1}]"


def _number(value: float, places: int) -> str:
    return f"{value:.{places}f}".replace("-", "−")
