"""A trace opened for review: samples, figures, marks, and what is needed to draw it. No Qt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from gaugebench.analyse.settings import Settings
from gaugebench.desk.names import role_title
from gaugebench.desk.plot.pyramid import Lines, Pyramid
from gaugebench.desk.words import told, tr
from gaugebench.errors import AnalysisError, ImportChoiceNeeded, TraceError
from gaugebench.model.figures import FigureSet
from gaugebench.model.mark import Mark, Standing
from gaugebench.model.role import Role
from gaugebench.model.trace import Trace

if TYPE_CHECKING:
    from gaugebench.desk.review.longtrace import LongTrace


@dataclass(frozen=True, slots=True, eq=False)
class Opened:
    """path: None for a trace that is not from a file. why_none: why there are no figures.

    long: where the samples stay in the file; the series of `trace` are then empty, and samples
    are had by `between` alone.
    """

    path: Path | None
    trace: Trace
    pyramids: tuple[Lines, ...]
    figures: FigureSet
    marks: tuple[Mark, ...]
    why_none: str = ""
    long: LongTrace | None = None

    @property
    def title(self) -> str:
        """What it is called."""
        return self.path.name if self.path else self.trace.origin

    @property
    def span_s(self) -> tuple[float, float]:
        """First and last instant, s."""
        return self.long.span_s if self.long is not None else self.trace.span_s

    def between(self, start_s: float, end_s: float, role: Role | None = None) -> Trace:
        """The samples with start_s <= time < end_s, in the roles that stand; of one role alone
        where one is given.

        Of a long trace they are read from the file, a tenth of a second for a minute of them.
        Raises `TraceError`.
        """
        wanted = [s for s in self.trace.series if role is None or s.channel.role == role]
        if self.long is None:
            parts = tuple(s.between(start_s, end_s) for s in wanted)
        else:
            names = {s.channel.name: s.channel for s in wanted}
            found = self.long.between(start_s, end_s, names).series
            parts = tuple(replace(part, channel=names[part.channel.name]) for part in found)
        return replace(self.trace, series=parts)

    def about(self, time_s: float) -> Trace:
        """The samples about an instant, and perhaps more."""
        return self.trace if self.long is None else self.long.about(time_s, self.between)


def load(path: Path, roles: Mapping[str, str] | None = None) -> Opened:
    """Open, analyse and prepare a trace; takes seconds, so off the window's thread.

    Raises `TraceError`.
    """
    from gaugebench.session.finish import kept_settings  # dear, so only when needed
    from gaugebench.store.opening import is_trace_file, open_trace

    if is_trace_file(path):
        from gaugebench.desk.review import longtrace
        from gaugebench.store.tracefile import TraceFile

        file = TraceFile(path)
        if longtrace.is_long(file):
            return of_long(longtrace.LongTrace(file), path)
    try:
        return prepare(open_trace(path, roles=dict(roles or {})), path, kept_settings(path))
    except ImportChoiceNeeded as fault:
        raise TraceError(
            tr("{name} does not say all that is needed: open it in Review first.", name=path.name)
        ) from fault


def of_long(long: LongTrace, path: Path) -> Opened:
    """A long trace, with the figures that its file holds; others are taken when asked for."""
    trace, figures = long.head(), long.file.annexe.figures
    why = "" if figures is not None else tr("This trace is long: its figures are not taken yet.")
    return Opened(path, trace, long.lines(), figures or FigureSet((), {}), trace.marks, why, long)


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
    if opened.long is not None:
        why = tr("This trace is long: its figures are not taken yet.")
        return replace(opened, trace=trace, figures=FigureSet((), {}), why_none=why)
    figures, why = _figures(trace, Settings.from_mapping(opened.figures.settings))
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
        return FigureSet((), {}), told(fault)
