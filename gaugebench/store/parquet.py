"""A trace as Parquet, for those who go on with it in a data frame."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np

from gaugebench.errors import TraceError
from gaugebench.model.trace import Trace
from gaugebench.store import layout
from gaugebench.store.newfile import write_new


def write_parquet(trace: Trace, path: Path) -> Path:
    """Write a trace as Parquet; a taken name gets a number. The path it got.

    One table: `time` (s, float64) and a float64 column for each series, in the unit used inside,
    which stands in the column's metadata with role and reference. Where series have their own
    times, each has its own rows; a cell is null where there is no sample and NaN where a sample
    has no value. Raises `RecordError`, `TraceError`.
    """
    if not trace.series:
        raise TraceError("The trace holds no series, so there is nothing to write.")
    table = _table(trace)
    return write_new(path, lambda part: _write(table, part))


def _write(table: Any, part: Path) -> None:
    from pyarrow import parquet

    parquet.write_table(table, part, compression="zstd")


def _table(trace: Trace) -> Any:
    import pyarrow as pa

    # Series that share a time vector share rows.
    vectors = list({id(s.times): s.times for s in trace.series}.values())
    times = np.concatenate(vectors)
    order = np.argsort(times, kind="stable")
    starts = np.cumsum([0, *(len(v) for v in vectors)])
    place = {id(v): (int(starts[n]), int(starts[n + 1])) for n, v in enumerate(vectors)}
    columns = [pa.array(times[order])]
    fields = [pa.field("time", pa.float64(), nullable=False, metadata={"units": "s"})]
    taken = {"time"}
    for series in trace.series:
        low, high = place[id(series.times)]
        values, absent = np.zeros(len(times)), np.ones(len(times), np.bool_)
        values[low:high], absent[low:high] = series.values, False
        columns.append(pa.array(values[order], mask=absent[order]))
        channel = series.channel
        told = {
            "units": layout.inside_unit(channel),
            "name": channel.name,
            "role": str(channel.role or ""),
            "reference": str(channel.reference or ""),
            "stream": series.stream,
        }
        fields.append(pa.field(layout.unique(channel.title, taken), pa.float64(), metadata=told))
    about = {
        "start_time": trace.started.isoformat() if trace.started else "",
        "origin": trace.origin,
        "simulated": str(int(trace.simulated)),
        "kit": json.dumps(dict(trace.kit), ensure_ascii=False),
    }
    return pa.table(columns, schema=pa.schema(fields, metadata=about))
