"""From one trace format to another."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from gaugebench.errors import TraceError
from gaugebench.model.trace import Trace
from gaugebench.store.export import write_csv
from gaugebench.store.importing.recipe import recipe_from, save_recipe
from gaugebench.store.opening import open_trace
from gaugebench.store.parquet import write_parquet
from gaugebench.store.tracefile import write_trace

Writer = Callable[[Trace, Path], Path]


def writer_for(target: Path) -> Writer:
    """What writes the kind of file that a name ends in. Raises `TraceError`."""
    writers: dict[str, Writer] = {
        ".h5": write_trace,
        ".csv": write_csv,
        ".parquet": write_parquet,
    }
    writer = writers.get(target.suffix.lower())
    if writer is None:
        raise TraceError(f"“{target.name}” should end in {' or '.join(writers)}.")
    return writer


def convert(
    source: Path, target: Path, reading: Mapping[str, Any], recipe_to: Path | None = None
) -> Path:
    """Read `source` and write it as what `target` ends in; the path it became.

    reading: roles, and how to read a text file (see `open_trace`). recipe_to: where to keep how it
    was read, so that the next file of the same logger can be read alike. Nothing is overwritten: a
    taken name gets a number. Raises `TraceError`.
    """
    write = writer_for(target)
    trace = open_trace(source, **reading)
    if recipe_to is not None:
        if not trace.recipe:
            raise TraceError(f"{source} is a trace file: there is no recipe to keep.")
        save_recipe(recipe_from(dict(trace.recipe)), recipe_to)
    return write(trace, target)
