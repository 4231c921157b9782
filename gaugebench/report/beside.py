"""Before and after: what was adjusted, its pressure as found and as left on one clock."""

from __future__ import annotations

from collections.abc import Mapping

from gaugebench.model.job import Phase, Source
from gaugebench.model.role import Role
from gaugebench.model.saying import Saying, Written
from gaugebench.model.trace import Trace
from gaugebench.procedure import compare
from gaugebench.procedure.state import JobState
from gaugebench.quantity import Dimension, unit
from gaugebench.report.blocks import Block, Chart, Heading, Line, Text, Tone
from gaugebench.report.charts import pieces

ROUND_S = 0.5
"""So much is shown before and after the stretch that was read."""
ROOM = 0.08


def before_and_after(state: JobState, traces: Mapping[str, Trace], pressure: str) -> list[Block]:
    """A chart for each check whose reading moved by more than its uncertainty."""
    found: list[Block] = []
    for pair in compare.pairs(state):
        check, change = state.check(pair.check), pair.change
        has_moved = change.expanded is None or abs(change.value) > change.expanded
        if check.role.dimension is not Dimension.PRESSURE or not has_moved:
            continue
        lines = tuple(
            line
            for n, (name, source) in enumerate(
                ((Phase.AS_FOUND, pair.found), (Phase.AS_LEFT, pair.left))
            )
            if (line := _line(name.value, source, check.role, traces, pressure, n)) is not None
        )
        if len(lines) == 2:
            band = check.limits
            ends = (band.low, band.high) if band is not None else ()
            limits = tuple(unit(pressure).from_inside(v) for v in ends if v is not None)
            found.append(_chart(pair.title, lines, limits, pressure))
    told = Text(Saying("The dotted lines are the limits of the band."), Tone.SMALL)
    return [Heading(Saying("Before and after")), told, *found] if found else []


def _line(
    name: str, source: Source, role: Role, traces: Mapping[str, Trace], pressure: str, style: int
) -> Line | None:
    """The pressure round the stretch that was read, its clock 0 where that begins."""
    trace = traces.get(source.trace)
    series = trace.find(role) if trace is not None else None
    if trace is None or series is None or source.start_s is None or source.end_s is None:
        return None
    low, high = source.start_s - ROUND_S, source.end_s + ROUND_S
    cut = pieces(series.between(low, high), trace, unit(pressure).factor, (low, high))
    moved = tuple((times - source.start_s, values) for times, values in cut)
    return Line(name, moved, style) if moved else None


def _chart(title: str, lines: tuple[Line, ...], limits: tuple[float, ...], pressure: str) -> Chart:
    times = [float(x) for line in lines for xs, _ in line.pieces for x in (xs[0], xs[-1])]
    values = [float(v) for line in lines for _, ys in line.pieces for v in (ys.min(), ys.max())]
    bottom, top = min(*values, *limits, 0.0), max(*values, *limits)
    return Chart(
        title=Saying("{title}: as found and as left", title=Written(title)),
        lines=lines,
        x_label=Saying("Time from the beginning of the reading (s)"),
        y_label=Saying("Gauge pressure ({unit})", unit=Written(pressure)),
        x=(min(times), max(times)),
        y=(bottom, top + ROOM * (top - bottom or 1.0)),
        limits=limits,
    )
