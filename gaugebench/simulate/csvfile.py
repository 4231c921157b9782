"""A simulated run written as text that any program reads: columns headed `ROLE [UNIT]`."""

from __future__ import annotations

import gzip
import io
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from gaugebench.model.trace import Series, Trace
from gaugebench.quantity import Dimension
from gaugebench.simulate.script import run
from gaugebench.simulate.scriptfile import read_script

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


def write_run(script: Path, out: Path, *, truth: bool = True) -> tuple[Path, ...]:
    """Carry out the script file and write `out` (.csv or .csv.gz), and the truth beside it.

    The same script gives the same bytes. Returns what was written. Raises `ScriptError`,
    `FileExistsError`.
    """
    trace, found = run(read_script(script))
    data = csv_of(trace).encode()
    if out.suffix == ".gz":
        # No time and no name inside, so that the bytes depend on the script alone.
        data = gzip.compress(data, compresslevel=9, mtime=0)
    with out.open("xb") as file:
        file.write(data)
    return (out, write_truth(found, out)) if truth else (out,)


def write_truth(truth: Mapping[str, Any], trace: Path) -> Path:
    """Write the truth of a run beside its trace, as `NAME.truth.json`."""
    name = trace.name.removesuffix(".gz")
    path = trace.with_name(name.rsplit(".", 1)[0] + ".truth.json")
    with path.open("x", encoding="utf-8") as file:
        file.write(json.dumps(truth, indent=1) + "\n")
    return path
