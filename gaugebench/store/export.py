"""Traces as text: CSV without regard to the computer's language, which reads back the same."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TextIO

import numpy as np

from gaugebench.errors import TraceError
from gaugebench.model.arrays import F64
from gaugebench.model.channel import Channel
from gaugebench.model.conditioning import Wiring
from gaugebench.model.trace import Series, Trace
from gaugebench.quantity import Reference
from gaugebench.store.newfile import write_new
from gaugebench.store.tracefile import by_stream

_ROWS = 10_000
_LETTER = {Reference.GAUGE: "g", Reference.ABSOLUTE: "a", Reference.SEALED: "s"}


def write_csv(trace: Trace, path: Path) -> Path:
    """Write a trace as CSV; a taken name gets a number. The path it got.

    One file: `time [s]` and a column for each series, headed `ROLE [UNIT]`. A value is written
    with as many digits as it takes to read back the same sample. Where series have their own
    times, rows of all of them are merged and empty cells are “no sample”; a sample without a
    value is `nan`. Raises `RecordError`.
    """
    if not trace.series:
        raise TraceError("The trace holds no series, so there is nothing to write.")

    def fill(part: Path) -> None:
        with part.open("x", encoding="utf-8", newline="\n") as file:
            _write(trace, file)

    return write_new(path, fill)


def column_heading(channel: Channel, unit: str) -> str:
    """`ROLE [UNIT]`, quoted where a name holds a comma or a quote."""
    text = f"{channel.title} [{unit}]" if unit else channel.title
    return '"' + text.replace('"', '""') + '"' if any(c in text for c in ',"\n') else text


def exported(series: Series) -> tuple[F64, str]:
    """The values to write and their unit: as the device said them where that was in a unit."""
    channel = series.channel
    chain = channel.chain
    plain = chain.wiring is Wiring.DIRECT and not chain.zero and not chain.curve
    if series.raw is not None and plain:
        return series.raw, channel.raw_unit
    unit = channel.dimension.value or channel.raw_unit
    if channel.reference is not None:
        unit = f"{unit}({_LETTER[channel.reference]})"
    return series.values, unit


def _write(trace: Trace, file: TextIO) -> None:
    columns = [exported(s) for s in trace.series]
    headings = [
        column_heading(s.channel, u) for s, (_, u) in zip(trace.series, columns, strict=True)
    ]
    file.write(",".join(["time [s]", *headings]) + "\n")
    streams = by_stream(trace.series)
    if len(streams) == 1:
        _write_rows(file, trace.series[0].times, [c for c, _ in columns])
        return
    for line in _merged(trace.series, [c for c, _ in columns]):
        file.write(line)


def _write_rows(file: TextIO, times: F64, columns: Sequence[F64]) -> None:
    for low in range(0, len(times), _ROWS):
        part = slice(low, low + _ROWS)
        cells = [[repr(v) for v in column[part].tolist()] for column in (times, *columns)]
        file.writelines(",".join(row) + "\n" for row in zip(*cells, strict=True))


def _merged(series: Sequence[Series], columns: Sequence[F64]) -> Iterator[str]:
    """Rows of series that have their own times, in order of time."""
    times = np.concatenate([s.times for s in series])
    which = np.repeat(np.arange(len(series)), [len(s) for s in series])
    row = np.concatenate([np.arange(len(s)) for s in series])
    order = np.lexsort((which, times))
    cells = [""] * len(series)
    at: float | None = None
    for instant, column, index in zip(
        times[order].tolist(), which[order].tolist(), row[order].tolist(), strict=True
    ):
        if at is not None and (instant != at or cells[column]):
            yield ",".join([repr(at), *cells]) + "\n"
            cells = [""] * len(series)
        at = instant
        cells[column] = repr(float(columns[column][index]))
    if at is not None:
        yield ",".join([repr(at), *cells]) + "\n"
