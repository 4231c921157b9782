"""The marks of a loading, from what was found in it."""

from __future__ import annotations

from collections.abc import Mapping

from gaugebench.analyse.pump import PumpFindings
from gaugebench.model.figures import Event, Figure, LoadingFigures
from gaugebench.model.mark import Mark, MarkKind, Standing


def marks_of(
    number: int,
    loading: LoadingFigures,
    found: Mapping[int, PumpFindings],
    standing: Standing = Standing.FINAL,
) -> list[Mark]:
    """The marks of the loading with this number (from 0)."""

    def mark(
        kind: MarkKind, time_s: float, pump: int | None = None, pressure: float | None = None
    ) -> Mark:
        return Mark(key(number, pump, kind), kind, time_s, standing, pump, pressure)

    marks = [
        mark(MarkKind.LOADING_START, loading.start_s),
        mark(MarkKind.LOADING_END, loading.end_s),
    ]
    if isinstance(loading.in_sync, Figure):
        marks.append(mark(MarkKind.IN_SYNC, loading.in_sync.value))
    for pump, one in found.items():
        figures = one.figures
        for kind, event in (
            (MarkKind.RELIEF_CRACK, figures.relief_crack),
            (MarkKind.DESTROKE_ONSET, figures.destroke_onset),
        ):
            if isinstance(event, Event):
                pressure = event.pressure.value if isinstance(event.pressure, Figure) else None
                marks.append(mark(kind, event.time.value, pump, pressure))
        if one.peak is not None and isinstance(figures.peak, Figure):
            marks.append(mark(MarkKind.PEAK, one.peak.time_s, pump, figures.peak.value))
        if isinstance(figures.settle, Figure) and isinstance(figures.t50, Figure):
            settled = figures.settled.value if isinstance(figures.settled, Figure) else None
            at = figures.t50.value + figures.settle.value
            marks.append(mark(MarkKind.SETTLED, at, pump, settled))
    return marks


def key(number: int, pump: int | None, kind: MarkKind) -> str:
    """The key that a mark keeps through all its forms, for example `2/pump1/relief crack`."""
    owner = "loading" if pump is None else f"pump{pump}"
    return f"{number}/{owner}/{kind.value}"
