"""A trace opened for review: samples, figures, marks, and what is needed to draw it. No Qt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from gaugebench.analyse.settings import Settings
from gaugebench.desk.names import role_title
from gaugebench.desk.plot.pyramid import Pyramid
from gaugebench.desk.words import tr
from gaugebench.errors import AnalysisError
from gaugebench.model.figures import FigureSet
from gaugebench.model.mark import Mark, Standing
from gaugebench.model.role import Role
from gaugebench.model.trace import Trace


@dataclass(frozen=True, slots=True, eq=False)
class Opened:
    """path: None for a trace that is not from a file. why_none: why there are no figures."""

    path: Path | None
    trace: Trace
    pyramids: tuple[Pyramid, ...]
    figures: FigureSet
    marks: tuple[Mark, ...]
    why_none: str = ""

    @property
    def title(self) -> str:
        """What it is called."""
        return self.path.name if self.path else self.trace.origin


def load(path: Path, roles: Mapping[str, str] | None = None) -> Opened:
    """Open, analyse and prepare a trace; takes seconds, so off the window's thread.

    Raises `TraceError`, `ImportChoiceNeeded`.
    """
    from gaugebench.store.opening import open_trace  # h5py and pandas, so only when one is opened

    return prepare(open_trace(path, roles=dict(roles or {})), path)


def prepare(trace: Trace, path: Path | None = None, settings: Settings | None = None) -> Opened:
    """Analyse a trace and build what is needed to draw it."""
    figures, why = _figures(trace, settings)
    pyramids = tuple(Pyramid(s.times, s.values, s.quality) for s in trace.series)
    return Opened(path, trace, pyramids, figures, merged(trace.marks, figures.marks), why)


def again(opened: Opened, settings: Settings, marks: tuple[Mark, ...]) -> Opened:
    """The same trace with figures taken under other settings; marks set by hand stay."""
    figures, why = _figures(opened.trace, settings)
    return replace(opened, figures=figures, marks=merged(marks, figures.marks), why_none=why)


def with_roles(opened: Opened, roles: Mapping[str, Role | None]) -> Opened:
    """The same trace with other roles, analysed anew; marks set by hand stay.

    Raises `AnalysisError` where two channels are given one role.
    """
    given = [role for role in roles.values() if role is not None]
    double = next((r for r in given if given.count(r) > 1), None)
    if double is not None:
        raise AnalysisError(
            tr("{role} is given to two channels; give it to one.", role=role_title(double))
        )
    series = tuple(
        replace(s, channel=replace(s.channel, role=roles.get(s.channel.name, s.channel.role)))
        for s in opened.trace.series
    )
    trace = replace(opened.trace, series=series)
    figures, why = _figures(trace, None)
    marks = merged(opened.marks, figures.marks)
    return replace(opened, trace=trace, figures=figures, marks=marks, why_none=why)


def merged(kept: tuple[Mark, ...], found: tuple[Mark, ...]) -> tuple[Mark, ...]:
    """Marks set by hand, and those that the analysis found, in order of time."""
    by_hand = [m for m in kept if m.standing is Standing.BY_HAND]
    moved = {m.key for m in by_hand}
    every = [*by_hand, *(m for m in found if m.key not in moved)]
    return tuple(sorted(every, key=lambda m: (m.time_s, m.key)))


def _figures(trace: Trace, settings: Settings | None) -> tuple[FigureSet, str]:
    from gaugebench.analyse.figures import analyse  # costs a tenth of the start-up

    if not trace.pumps:
        why = tr("No channel is a main pressure: say under Roles which one is.")
        return FigureSet((), {}), why
    try:
        return analyse(trace, settings or Settings()), ""
    except AnalysisError as fault:
        return FigureSet((), {}), str(fault)
