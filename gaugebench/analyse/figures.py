"""All figures of a trace."""

from __future__ import annotations

from gaugebench.analyse.among import among
from gaugebench.analyse.assure import Ground, assure
from gaugebench.analyse.health import examine
from gaugebench.analyse.loading import figures_of_loading
from gaugebench.analyse.segmenter import Segmenter
from gaugebench.analyse.settings import Settings
from gaugebench.errors import AnalysisError
from gaugebench.model.figures import FigureSet
from gaugebench.model.mark import Mark
from gaugebench.model.role import Role
from gaugebench.model.saying import Saying
from gaugebench.model.trace import Series, Trace
from gaugebench.quantity import Reference

HEAD_S = 60.0


def analyse(trace: Trace, settings: Settings | None = None) -> FigureSet:
    """The figures of every loading in the trace, and the final marks.

    Every figure carries what its transducer and its channel's health add to it. Raises
    `AnalysisError` where no channel carries a pump's main pressure in gauge pressure.
    """
    chosen = settings or Settings()
    gauge, cautions = gauge_series(trace)
    mains = {p: s for p in trace.pumps if (s := gauge.get(Role.main(p))) is not None}
    if not mains:
        raise AnalysisError(
            "No channel carries a pump's main pressure in gauge pressure; say which one does, "
            "for example pump1.main."
        )
    segmenter = Segmenter(mains)
    for pump, series in mains.items():
        segmenter.feed(pump, series.times, series.values)
    loadings, marks = [], list[Mark]()
    for span in (*segmenter.advance(), *segmenter.finish()):
        figures, found = figures_of_loading(gauge, span, chosen)
        loadings.append(figures)
        marks += found
    bare = FigureSet(
        loadings=tuple(loadings),
        settings=chosen.as_mapping(),
        marks=tuple(sorted(marks, key=lambda m: (m.time_s, m.key))),
        cautions=cautions,
    )
    # Only the channels and their intervals are asked for: a minute of samples says the same as a
    # day, in far less time.
    heads = {
        role: series.between(series.times[0], series.times[0] + HEAD_S)
        for role, series in gauge.items()
        if len(series)
    }
    return assure(among(bare), Ground(heads, examine(trace)))


def gauge_series(trace: Trace) -> tuple[dict[Role, Series], tuple[str, ...]]:
    """The series by role that figures may use, and a sentence for each pressure that they may not.

    Absolute and sealed pressures are not mixed with gauge pressures: they are left out.
    """
    found: dict[Role, Series] = {}
    said: list[str] = []
    for series in trace.series:
        role, reference = series.channel.role, series.channel.reference
        if role is None:
            continue
        if reference in (Reference.ABSOLUTE, Reference.SEALED):
            said.append(
                Saying(
                    "{channel} is {reference} pressure; figures are in gauge pressure, so it is "
                    "not used.",
                    channel=series.channel.title,
                    reference=reference,
                )
            )
        elif role not in found:
            found[role] = series
    return found, tuple(said)
