"""A simulated run written as text that any program reads: columns headed `ROLE [UNIT]`."""

from __future__ import annotations

import io
import zlib

import numpy as np

from gaugebench.model.trace import Series, Trace
from gaugebench.quantity import Dimension

_WRITTEN = {Dimension.PRESSURE: ("MPa", 1e-6, 5), Dimension.SPEED: ("rpm", 1.0, 3)}


def csv_of(trace: Trace) -> str:
    """The series of the kit's stream as CSV, LF line ends; a missing value is an empty cell."""
    series = [s for s in trace.series if s.stream == trace.series[0].stream]
    out = io.StringIO()
    heads = [f"{s.channel.title} [{_WRITTEN[s.channel.dimension][0]}]" for s in series]
    out.write(",".join(["time [s]", *heads]) + "\n")
    columns = [_cells(s) for s in series]
    for at, *cells in zip(series[0].times.tolist(), *columns, strict=True):
        out.write(f"{at:.5f}," + ",".join(cells) + "\n")
    return out.getvalue()


def _cells(series: Series) -> list[str]:
    _, factor, digits = _WRITTEN[series.channel.dimension]
    scaled = series.values * factor
    return ["" if np.isnan(v) else f"{v:.{digits}f}" for v in scaled.tolist()]


def csv_data(trace: Trace, *, is_packed: bool) -> bytes:
    """The same as a file's bytes, packed with gzip or not; a run gives the same bytes again."""
    data = csv_of(trace).encode()
    # No time and no name inside, so that the bytes depend on the run alone.
    # Not by the gzip module: what it says of the system in the head differs from Python to Python.
    return zlib.compress(data, level=9, wbits=31) if is_packed else data
