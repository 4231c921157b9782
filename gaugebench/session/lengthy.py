"""Figures of a trace too long for memory, taken from its file piece by piece.

The segmenter that finds the loadings is fed with the main pressures alone, a stretch at a time;
each loading's figures then come from its own window of all channels. So they are what `analyse`
would give, but for the health of the channels, which is judged window by window: a fault that shows
only over minutes without a loading is not seen.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from gaugebench.analyse.among import among
from gaugebench.analyse.assure import Ground, assure
from gaugebench.analyse.figures import gauge_series
from gaugebench.analyse.health import examine
from gaugebench.analyse.loading import figures_of_loading
from gaugebench.analyse.segmenter import LoadingSpan, Segmenter
from gaugebench.analyse.settings import Settings
from gaugebench.errors import AnalysisError
from gaugebench.model.figures import FigureSet
from gaugebench.model.role import Role
from gaugebench.model.trace import Trace
from gaugebench.store.tracefile import TraceFile

PIECE_SAMPLES = 1_000_000
"""Samples of one channel that are read at a time: 8 MB for each main pressure."""

Progress = Callable[[float], bool]
"""Told the share done, from 0 to 1; answers whether to go on."""


def analyse_file(
    file: TraceFile,
    settings: Settings | None = None,
    roles: Mapping[str, Role | None] | None = None,
    progress: Progress | None = None,
) -> FigureSet:
    """The figures of every loading in a trace file, within memory that does not grow with it.

    roles: by the channel's name, where others are to be played than the file says. Raises
    `AnalysisError` where there is no main pressure, or where `progress` says to stop; `TraceError`
    where the file cannot be read.
    """
    return _Passage(file, settings or Settings(), roles or {}).figures(progress)


class _Passage:
    """One way through a file."""

    def __init__(
        self, file: TraceFile, settings: Settings, roles: Mapping[str, Role | None]
    ) -> None:
        self.file, self.settings, self.roles = file, settings, roles
        self.found = FigureSet((), settings.as_mapping())

    def figures(self, progress: Progress | None) -> FigureSet:
        """All of them."""
        head = self._in_roles(self.file.window(0.0, 0.0))
        gauge, _ = gauge_series(head)
        mains = {p: gauge[Role.main(p)].channel.name for p in head.pumps if Role.main(p) in gauge}
        if not mains:
            raise AnalysisError(
                "No channel carries a pump's main pressure in gauge pressure; say which one does, "
                "for example pump1.main."
            )
        segmenter = Segmenter(mains)
        start, end = self.file.span_s()
        most = max(self.file.rows.values())
        piece = (end - start) * min(PIECE_SAMPLES / most, 1.0) or 1.0
        at = start
        while at <= end:
            part = self.file.window(at, at + piece, set(mains.values()), with_raw=False)
            by_name = {s.channel.name: s for s in part.series}
            for pump, name in mains.items():
                segmenter.feed(pump, by_name[name].times, by_name[name].values)
            self._take(segmenter.advance())
            at += piece
            if progress is not None and not progress(min((at - start) / (end - start or 1.0), 1.0)):
                raise AnalysisError(f"Taking the figures of {self.file.path.name} was stopped.")
        self._take(segmenter.finish())
        marks = sorted(self.found.marks, key=lambda m: (m.time_s, m.key))
        return among(replace(self.found, marks=tuple(marks)))

    def _take(self, spans: tuple[LoadingSpan, ...]) -> None:
        for span in spans:
            window = self._in_roles(
                self.file.window(span.window_start_s, span.window_end_s, with_raw=False)
            )
            gauge, said = gauge_series(window)
            figures, marks = figures_of_loading(gauge, span, self.settings)
            bare = FigureSet((figures,), self.settings.as_mapping(), tuple(marks), cautions=said)
            sure = assure(bare, Ground(gauge, examine(window)))
            self.found = replace(
                self.found,
                loadings=(*self.found.loadings, *sure.loadings),
                marks=(*self.found.marks, *sure.marks),
                cautions=tuple(dict.fromkeys((*self.found.cautions, *sure.cautions))),
            )

    def _in_roles(self, trace: Trace) -> Trace:
        series = tuple(
            replace(s, channel=replace(s.channel, role=self.roles[s.channel.name]))
            if s.channel.name in self.roles
            else s
            for s in trace.series
        )
        return replace(trace, series=series)
