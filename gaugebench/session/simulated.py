"""A simulated visit as a trace file, with the truth beside it."""

from __future__ import annotations

import json
from pathlib import Path

from gaugebench.errors import TraceError
from gaugebench.model.trace import Trace
from gaugebench.session.convert import Writer, writer_for
from gaugebench.simulate.csvfile import csv_data
from gaugebench.simulate.script import run
from gaugebench.simulate.scriptfile import read_script
from gaugebench.store.newfile import write_new

PACKED = ".csv.gz"


def simulate_to(script_file: Path, out: Path, *, truth: bool) -> list[Path]:
    """Carry out a script and write its trace; with `truth`, a `.truth.json` beside it.

    `out` ends in .h5, .parquet, .csv or .csv.gz; as text it is what a kit would have logged, and
    the same script gives the same bytes again. Nothing is overwritten: a taken name gets a number.
    Raises `ScriptError`, `TraceError`, `RecordError`.
    """
    write = _writer(out)
    trace, known = run(read_script(script_file))
    made = [write(trace, out)]
    if truth:
        beside = made[0].with_name(_stem(made[0]) + ".truth.json")
        try:
            with beside.open("x", encoding="utf-8") as file:
                file.write(json.dumps(known, indent=1) + "\n")
        except FileExistsError as fault:
            raise TraceError(f"{beside} is there already; name another file.") from fault
        made.append(beside)
    return made


def _writer(out: Path) -> Writer:
    is_packed = out.name.lower().endswith(PACKED)
    if not is_packed and out.suffix.lower() != ".csv":
        return writer_for(out)

    def write(trace: Trace, path: Path) -> Path:
        data = csv_data(trace, is_packed=is_packed)
        return write_new(path, lambda part: _fill(part, data))

    return write


def _fill(part: Path, data: bytes) -> None:
    part.write_bytes(data)


def _stem(path: Path) -> str:
    """A trace's name without its ending: `visit` of `visit.csv.gz`."""
    name = path.name
    return name[: -len(PACKED)] if name.lower().endswith(PACKED) else path.stem
