"""Charts of a job's traces: pressures over time with their marks, thinned without losing a peak."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from gaugebench.model.arrays import F64
from gaugebench.model.channel import Channel
from gaugebench.model.job import ReadingTaken, TraceAdded
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.role import Port
from gaugebench.model.saying import Saying, Written, fixed, joined
from gaugebench.model.trace import Series, Trace
from gaugebench.procedure.state import JobState
from gaugebench.quantity import Dimension, Reference, show, unit
from gaugebench.report.blocks import (
    Block,
    Chart,
    Flag,
    Heading,
    Line,
    Span,
    Table,
    Text,
    Tone,
    row,
)
from gaugebench.report.cells import reading_cell, verdict_cell
from gaugebench.report.names import CHECK, role_name

COLUMNS = 500
"""A chart keeps each of so many columns' least and greatest sample."""
MOST_FLAGS = 24
"""More marks than these are left to the trace, and that is said."""
_SHOWN = frozenset(
    {
        MarkKind.RELIEF_CRACK,
        MarkKind.DESTROKE_ONSET,
        MarkKind.IN_SYNC,
        MarkKind.NOTE,
        MarkKind.ALARM,
        MarkKind.GAP,
    }
)
"""Levels and the ends of loadings are in the readings; these are what a reader looks for."""


_MEANS = {
    MarkKind.RELIEF_CRACK: Saying("Relief crack: the relief valve begins to pass oil"),
    MarkKind.DESTROKE_ONSET: Saying(
        "De-stroke onset: the pump begins to give less, as its cut-off asks"
    ),
    MarkKind.IN_SYNC: Saying("Pumps in sync: from here on both pressures stay together"),
}
"""What the marks mean, for whoever does not know the words."""


def charts(state: JobState, traces: Mapping[str, Trace], pressure: str) -> list[Block]:
    """A part for each trace of the job; a trace that is not at hand is named."""
    found: list[Block] = []
    for added in state.traces:
        trace = traces.get(added.trace)
        title = joined((Written(added.trace), added.phase.value), ", ")
        if added.note:
            title = joined((title, Written(added.note)), ": ")
        found.append(Heading(Saying("Trace {title}", title=title), 2))
        if trace is None:
            told = Saying("This trace was not at hand when the report was made.")
            found.append(Text(told, Tone.WARNING))
            continue
        read = taken(state, added.trace)
        drawn = of_trace(trace, added, pressure, tuple(span for span, _ in read))
        pictures = [block for block in drawn if isinstance(block, Chart)]
        found += [*pictures, *_readings(state, read, added.trace, pressure)]
        found += [block for block in drawn if not isinstance(block, Chart)]
    return found


def _readings(
    state: JobState,
    read: tuple[tuple[Span, tuple[ReadingTaken, ...]], ...],
    trace: str,
    pressure: str,
) -> list[Block]:
    """What each letter over the charts stands for."""
    rows = []
    for span, readings in read:
        for reading in readings:
            check = state.check(reading.check)
            rows.append(
                row(
                    Written(span.label),
                    Saying(
                        "{start} to {end} s",
                        start=fixed(span.start_s, 1),
                        end=fixed(span.end_s, 1),
                    ),
                    Written(check.title),
                    reading.phase.value,
                    reading_cell(check, reading, pressure),
                    verdict_cell(state, check, reading),
                )
            )
    if not rows:
        return []
    head = ("", Saying("Where"), CHECK, Saying("When"), Saying("Reading"), Saying("Verdict"))
    name = Saying("Readings {trace}", trace=Written(trace))
    return [Table(name, head, tuple(rows), (5, 17, 36, 12, 18, 12))]


def taken(state: JobState, trace: str) -> tuple[tuple[Span, tuple[ReadingTaken, ...]], ...]:
    """The readings that were taken from a trace, by where; a letter for each stretch."""
    stretches: dict[tuple[float, float], list[ReadingTaken]] = {}
    for _, reading in state.readings:
        source = reading.source
        if source.trace == trace and source.start_s is not None and source.end_s is not None:
            stretches.setdefault((source.start_s, source.end_s), []).append(reading)
    return tuple(
        (Span(*where, _letter(n)), tuple(stretches[where]))
        for n, where in enumerate(sorted(stretches))
    )


def _letter(number: int) -> str:
    """A, B, … Z, AA, AB, …"""
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def of_trace(
    trace: Trace, added: TraceAdded, pressure: str, spans: tuple[Span, ...] = ()
) -> list[Block]:
    """Mains on one chart, control and pilot on another, the marks numbered and listed.

    spans: the stretches that readings were taken from, to be shown by their letters.
    """
    mains: list[Series] = []
    others: list[Series] = []
    for series in trace.series:
        role = series.channel.role
        is_gauge = series.channel.reference in (None, Reference.GAUGE)
        if role is None or series.channel.dimension is not Dimension.PRESSURE or not is_gauge:
            continue
        (mains if role.port is Port.MAIN else others).append(series)
    flags, marks = _flags(trace.marks)
    found: list[Block] = []
    for title, group, marked in (
        (Saying("Main pressures"), mains, flags),
        (Saying("Control and pilot pressures"), others, ()),
    ):
        if any(len(s) for s in group):
            whole = joined((title, Written(added.trace)), ", ")
            found.append(_chart(whole, group, trace, pressure, marked, spans))
    if not found:
        return [Text(Saying("It holds no gauge pressure of a known role."), Tone.WARNING)]
    if marks:
        rows = tuple(
            row(
                str(n),
                show(m.time_s, "s", 3),
                Saying("pump {number}", number=m.pump) if m.pump else "",
                _mark_words(m),
                _pressure(m, pressure),
            )
            for n, m in enumerate(marks, 1)
        )
        head = ("", Saying("At"), Saying("Of"), Saying("Mark"), Saying("Pressure"))
        name = Saying("Marks {trace}", trace=Written(added.trace))
        found.append(Table(name, head, rows, (5, 14, 14, 50, 17)))
        meant = [words for kind, words in _MEANS.items() if any(m.kind is kind for m in marks)]
        if meant:
            found.append(Text(Saying("{words}.", words=joined(meant, ". ")), Tone.SMALL))
    left_out = sum(m.kind in _SHOWN for m in trace.marks) - len(marks)
    if left_out:
        more = Saying("{count} further marks are in the trace.", count=left_out)
        found.append(Text(more, Tone.SMALL))
    if trace.gaps:
        cut = Saying("{count} gap(s); no line is drawn across them.", count=len(trace.gaps))
        found.append(Text(cut, Tone.SMALL))
    return found


def thin(times: F64, values: F64, low: float, high: float) -> tuple[F64, F64]:
    """The samples of a piece, each column's least and greatest kept in order of time.

    times: shape (n,), increasing; values: shape (n,), finite. low, high: the ends of the columns.
    """
    if len(times) <= 2 * COLUMNS:
        return times, values
    edges = np.searchsorted(times, np.linspace(low, high, COLUMNS + 1)[1:-1])
    starts = np.unique(np.concatenate(([0], edges)))
    starts = starts[starts < len(times)]
    keep = set[int]()
    for start, end in zip(starts, np.append(starts[1:], len(times)), strict=True):
        part = values[start:end]
        keep |= {int(start + np.argmin(part)), int(start + np.argmax(part))}
    kept = np.array(sorted(keep | {0, len(times) - 1}))
    return times[kept], values[kept]


def _chart(
    title: str,
    group: list[Series],
    trace: Trace,
    pressure: str,
    flags: tuple[Flag, ...],
    spans: tuple[Span, ...],
) -> Chart:
    low, high = trace.span_s
    factor = unit(pressure).factor
    lines = tuple(
        Line(_title(s.channel), pieces(s, trace, factor, (low, high)), n)
        for n, s in enumerate(group)
    )
    every = [y for line in lines for _, y in line.pieces]
    top = max((float(y.max()) for y in every), default=1.0)
    bottom = min((float(y.min()) for y in every), default=0.0)
    room = 0.06 * (top - bottom or 1.0)
    return Chart(
        title=title,
        lines=lines,
        x_label=Saying("Time (s)"),
        y_label=Saying("Gauge pressure ({unit})", unit=Written(pressure)),
        x=(low, high),
        y=(min(0.0, bottom - room), top + room),
        flags=flags,
        spans=spans,
    )


def pieces(
    series: Series, trace: Trace, factor: float, span: tuple[float, float]
) -> tuple[tuple[F64, F64], ...]:
    """The line of a series, cut at missing values and at gaps of its stream."""
    good = np.isfinite(series.values)
    cuts = np.flatnonzero(np.diff(good.astype(np.int8))) + 1
    gaps = [g.end_s for g in trace.gaps if g.stream == series.stream]
    cuts = np.unique(np.concatenate((cuts, np.searchsorted(series.times, gaps)))).astype(int)
    return tuple(
        thin(series.times[part], series.values[part] / factor, *span)
        for part in np.split(np.arange(len(series)), cuts)
        if len(part) > 1 and good[part[0]]
    )


def _title(channel: Channel) -> str:
    return role_name(channel.role) if channel.role is not None else Written(channel.title)


def _mark_words(mark: Mark) -> str:
    """What happened; whether a person set it, or it may still move, is said."""
    words: str = mark.kind.value
    if mark.note:
        is_own = mark.standing is Standing.BY_HAND
        words = joined((words, Written(mark.note) if is_own else mark.note), ": ")
    if mark.standing is Standing.FINAL:
        return words
    return Saying("{words} ({standing})", words=words, standing=mark.standing.value)


def _flags(marks: tuple[Mark, ...]) -> tuple[tuple[Flag, ...], tuple[Mark, ...]]:
    shown = tuple(sorted((m for m in marks if m.kind in _SHOWN), key=lambda m: m.time_s))
    shown = shown[:MOST_FLAGS]
    return tuple(Flag(m.time_s, str(n)) for n, m in enumerate(shown, 1)), shown


def _pressure(mark: Mark, pressure: str) -> str:
    if mark.pressure_pa is None:
        return "–"
    return show(mark.pressure_pa, pressure)
