"""Figures as rows of a table: one number a row, with how sure it is and where it came from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from typing import Any

from gaugebench.model.figures import Absent, Answer, Event, Figure, FigureSet, LimitedBy

Row = dict[str, Any]


def figure_rows(found: FigureSet) -> list[Row]:
    """Rows for the table of figures. Loadings count from 1; pump 0 is the loading as a whole."""
    rows: list[Row] = []
    for number, loading in enumerate(found.loadings, start=1):
        whole = [("start", _instant(loading.start_s)), ("end", _instant(loading.end_s))]
        whole += [
            (f.name, getattr(loading, f.name))
            for f in fields(loading)
            if f.name not in {"start_s", "end_s", "pumps"}
        ]
        rows += [_row(number, 0, *pair) for name, answer in whole for pair in _flat(name, answer)]
        for pump, figures in sorted(loading.pumps.items()):
            rows += [
                _row(number, pump, *pair)
                for f in fields(figures)
                for pair in _flat(f.name, getattr(figures, f.name))
            ]
    return rows


def _instant(seconds: float) -> Figure:
    return Figure(seconds, "s")


def _flat(
    name: str, answer: Answer | Event | LimitedBy
) -> Iterator[tuple[str, Answer | LimitedBy]]:
    if isinstance(answer, Event):
        yield f"{name}_time", answer.time
        yield f"{name}_pressure", answer.pressure
    else:
        yield name, answer


def _row(loading: int, pump: int, name: str, answer: Answer | LimitedBy) -> Row:
    row: Row = {"loading": loading, "pump": pump, "figure": name}
    match answer:
        case Absent(reason):
            row["why_absent"] = reason
        case LimitedBy(limiter, reason):
            row |= {"unit": limiter.value, "cautions": reason}
        case Figure():
            row |= {
                "value": answer.value,
                "unit": answer.unit,
                "expanded": answer.expanded,
                "cautions": " ".join(answer.cautions),
            }
            if answer.window is not None:
                row |= {
                    "from_s": answer.window.start_s,
                    "to_s": answer.window.end_s,
                    "samples": answer.window.count,
                }
    return row
