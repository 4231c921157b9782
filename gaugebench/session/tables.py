"""Figures as a table of text, for the command line and the clipboard."""

from __future__ import annotations

from gaugebench.errors import UnitError
from gaugebench.model.figures import Absent, Answer, Event, FigureSet, LoadingFigures, PumpFigures
from gaugebench.quantity import Dimension, show, unit


def figure_table(found: FigureSet, pressure_unit: str) -> str:
    """All figures by loading and pump, each with its unit and its uncertainty (k = 2).

    Raises `UnitError` where `pressure_unit` is not a unit of pressure.
    """
    if unit(pressure_unit).dimension is not Dimension.PRESSURE:
        raise UnitError(f"“{pressure_unit}” is not a unit of pressure; write bar, MPa or psi.")
    lines = [f"Gauge pressures; ± is the expanded uncertainty (k = 2). {_count(found)}"]
    lines += [f"Note: {caution}" for caution in found.cautions]
    for number, loading in enumerate(found.loadings, start=1):
        lines += ["", *_loading(number, loading, pressure_unit)]
    return "\n".join(lines)


def _count(found: FigureSet) -> str:
    many = len(found.loadings)
    return "No loading found." if not many else f"{many} loading{'s' if many > 1 else ''}."


def _loading(number: int, loading: LoadingFigures, shown_in: str) -> list[str]:
    lines = [f"Loading {number}: {loading.start_s:.3f} s to {loading.end_s:.3f} s"]
    for pump, figures in sorted(loading.pumps.items()):
        lines += [f"  Pump {pump}", *(f"    {row}" for row in _pump(figures, shown_in))]
    pair = (
        ("imbalance", loading.imbalance),
        ("running imbalance", loading.running_imbalance),
        ("sync lag", loading.sync_lag),
        ("pumps in sync from", loading.in_sync),
        ("cycle time", loading.cycle_time),
    )
    return lines + [f"  {name:20} {answer_text(answer, shown_in)}" for name, answer in pair]


def _pump(figures: PumpFigures, shown_in: str) -> list[str]:
    rows: list[tuple[str, Answer | Event]] = [
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
    ]
    limited = figures.limited_by
    return [f"{name:16} {answer_text(answer, shown_in)}" for name, answer in rows] + [
        f"{'limited by':16} {limited.limiter.value} ({limited.reason})"
    ]


def answer_text(answer: Answer | Event, shown_in: str) -> str:
    """One figure in words: `343.0 ± 1.2 bar`, or why it is absent."""
    match answer:
        case Absent(reason):
            return f"— ({reason})"
        case Event(time, pressure):
            return f"{answer_text(pressure, shown_in)} at {answer_text(time, shown_in)}"
    spread = ""
    if answer.expanded is not None:
        spread = (
            f" ± {_plain(_seen(answer.expanded, answer.unit, shown_in), answer.unit, shown_in)}"
        )
    cautions = f"  [{' '.join(answer.cautions)}]" if answer.cautions else ""
    number = _plain(answer.value, answer.unit, shown_in)
    return f"{number}{spread}{_symbol(answer.unit, shown_in)}{cautions}"


def _plain(value: float, inside: str, shown_in: str) -> str:
    if inside == Dimension.PRESSURE.value:
        return show(value, shown_in).rsplit(" ", 1)[0]
    return f"{value:.{_decimals(inside)}f}".replace("-", "−")


def _seen(expanded: float, inside: str, shown_in: str) -> float:
    """Never shown as ± 0: at least one in the last place that is shown."""
    if inside == Dimension.PRESSURE.value:
        least = show(unit(shown_in).factor, shown_in).partition(" ")[0]
        places = len(least.partition(".")[2])
        return max(expanded, unit(shown_in).factor * 10.0**-places)
    return max(expanded, 10.0 ** -_decimals(inside))


def _decimals(inside: str) -> int:
    return {"%": 2, "rpm": 0}.get(inside, 3)


def _symbol(inside: str, shown_in: str) -> str:
    return f" {unit(shown_in).symbol if inside == Dimension.PRESSURE.value else inside}"
