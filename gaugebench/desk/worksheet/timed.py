"""Times that a trace shows, and what a function's repeats say so far. No Qt."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from gaugebench.desk.words import said, tr
from gaugebench.model.figures import Answer, Figure
from gaugebench.model.job import Source, Value
from gaugebench.model.role import Role
from gaugebench.model.sheet import Check
from gaugebench.procedure import cycles, merging
from gaugebench.procedure.cycles import REPEATS
from gaugebench.procedure.recognise import to_value
from gaugebench.procedure.state import JobState
from gaugebench.procedure.steady import mean_over
from gaugebench.procedure.words import number
from gaugebench.quantity import Dimension, show

if TYPE_CHECKING:
    from gaugebench.desk.review.opened import Opened


@dataclass(frozen=True, slots=True)
class Timed:
    """A time with what the engine and the oil did in it. rpm, oil_c: None where not known."""

    text: str
    seconds: Value
    rpm: float | None = None
    oil_c: float | None = None
    source: Source = field(default_factory=Source)


def of_trace(opened: Opened | None) -> tuple[Timed, ...]:
    """The cycle times of a trace's loadings, each with the means over its own stretch."""
    if opened is None or opened.path is None:
        return ()
    found = []
    for n, loading in enumerate(opened.figures.loadings):
        figure = loading.cycle_time
        if not isinstance(figure, Figure):
            continue
        window = figure.window
        start, end = (window.start_s, window.end_s) if window else (loading.start_s, loading.end_s)
        part = opened.between(start, end)
        text = tr(
            "Loading {number} at {start} s: {value}",
            number=n + 1, start=f"{loading.start_s:.0f}", value=show(figure.value, "s", 2),
        )  # fmt: skip
        found.append(
            Timed(
                text,
                to_value(figure, Dimension.TIME),
                _mean(mean_over(part, Role.parse("engine.speed"), start, end)),
                _mean(mean_over(part, Role.parse("oil.temperature"), start, end)),
                Source(trace=opened.path.name, loading=n, start_s=start, end_s=end),
            )
        )
    return tuple(found)


def result_lines(state: JobState, check: Check) -> list[str]:
    """Mean, spread, the time at rated speed beside it, the flow, and on against off."""
    lines: list[str] = []
    found = cycles.cycle(state, check.key, state.phase)
    if found is None:
        lines.append(tr("Nothing is timed yet: {count} repeats.", count=REPEATS))
    else:
        mean, spread = number(found.mean, "s", 2), show(found.spread_s, "s", 2)
        lines.append(
            tr(
                "Mean of {count}: {mean}, spread {spread}.",
                count=found.count, mean=mean, spread=spread,
            )
        )  # fmt: skip
        if found.still:
            lines.append(tr("{count} more before the mean is a reading.", count=found.still))
        lines.append(tr("At rated speed: {answer}", answer=_answer(found.corrected, "s", 2)))
        lines.append(tr("Flow, estimate: {answer}", answer=_answer(found.flow, "L/min", 0)))
    for pair in merging.compared(state, state.phase):
        if pair.check == check.key:
            lines.append(pair.words)
            without = _answer(pair.flow_off, "L/min", 0)
            lines.append(tr("Flow without it, estimate: {answer}", answer=without))
    return lines


def _answer(answer: Answer, unit: str, digits: int) -> str:
    if isinstance(answer, Figure):
        return number(
            Value(value=answer.value, unit=answer.unit, expanded=answer.expanded), unit, digits
        )
    return said(answer.reason)


def _mean(answer: Answer) -> float | None:
    return answer.value if isinstance(answer, Figure) else None
