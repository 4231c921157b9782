"""The marks of a loading, from its figures."""

from __future__ import annotations

from gaugebench.model.figures import Event, Figure, LoadingFigures
from gaugebench.model.mark import Mark, MarkKind, Standing


def marks_of(number: int, loading: LoadingFigures) -> list[Mark]:
    """The final marks of the loading with this number (from 0)."""
    final = Standing.FINAL
    marks = [
        Mark(
            key(number, None, MarkKind.LOADING_START),
            MarkKind.LOADING_START,
            loading.start_s,
            final,
        ),
        Mark(key(number, None, MarkKind.LOADING_END), MarkKind.LOADING_END, loading.end_s, final),
    ]
    if isinstance(loading.in_sync, Figure):
        marks.append(
            Mark(
                key(number, None, MarkKind.IN_SYNC), MarkKind.IN_SYNC, loading.in_sync.value, final
            )
        )
    for pump, figures in loading.pumps.items():
        for kind, event in (
            (MarkKind.RELIEF_CRACK, figures.relief_crack),
            (MarkKind.DESTROKE_ONSET, figures.destroke_onset),
        ):
            if isinstance(event, Event):
                pressure = event.pressure.value if isinstance(event.pressure, Figure) else None
                marks.append(
                    Mark(key(number, pump, kind), kind, event.time.value, final, pump, pressure)
                )
        if isinstance(figures.settle, Figure) and isinstance(figures.t50, Figure):
            settled = figures.settled.value if isinstance(figures.settled, Figure) else None
            at = figures.t50.value + figures.settle.value
            kind = MarkKind.SETTLED
            marks.append(Mark(key(number, pump, kind), kind, at, final, pump, settled))
    return marks


def key(number: int, pump: int | None, kind: MarkKind) -> str:
    """The key that a mark keeps through all its forms, for example `2/pump1/relief crack`."""
    owner = "loading" if pump is None else f"pump{pump}"
    return f"{number}/{owner}/{kind.value}"
