"""As found beside as left: which stretches of which traces belong side by side."""

from __future__ import annotations

from dataclasses import dataclass

from gaugebench.model.job import Phase, Source, Value
from gaugebench.model.saying import Saying
from gaugebench.procedure.state import JobState
from gaugebench.procedure.words import show_difference
from gaugebench.quantity import Number, show


@dataclass(frozen=True, slots=True)
class Beside:
    """A check's two readings and where in which trace each was taken. change: left less found."""

    check: str
    title: str
    found: Source
    left: Source
    change: Value


def pairs(state: JobState) -> tuple[Beside, ...]:
    """The checks that were read from a trace both as found and as left."""
    rows = []
    for check in state.sheet.check:
        found = state.reading(check.key, Phase.AS_FOUND)
        left = state.reading(check.key, Phase.AS_LEFT)
        if found is None or left is None or not found.source.trace or not left.source.trace:
            continue
        a, b = found.value, left.value
        both = None if a.expanded is None or b.expanded is None else a.expanded**2 + b.expanded**2
        change = Value(
            value=b.value - a.value, unit=a.unit, expanded=None if both is None else both**0.5
        )
        rows.append(Beside(check.key, check.title, found.source, left.source, change))
    return tuple(rows)


def change_text(pair: Beside, shown_in: str) -> str:
    """How far the reading moved, with its sign: `+32.4 ± 4.2 bar`."""
    change = pair.change
    like = show(abs(change.value), shown_in).removesuffix(shown_in).rstrip()
    moved = show_difference(change.value, shown_in, like).replace("-", "−")
    moved = moved if moved.startswith("−") else f"+{moved}"
    if change.expanded is None:
        return Saying("{text} (uncertainty not known)", text=Number(moved))
    spread = show_difference(change.expanded, shown_in, like)
    return Number(f"{moved.removesuffix(shown_in).rstrip()} ± {spread}")
