"""From one trace format to another."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from gaugebench.errors import TraceError
from gaugebench.model.role import Role
from gaugebench.model.trace import Trace
from gaugebench.store.export import write_csv
from gaugebench.store.importing.importer import import_to_file
from gaugebench.store.importing.recipe import recipe_from, recipe_with, save_recipe
from gaugebench.store.opening import is_trace_file, open_trace
from gaugebench.store.parquet import write_parquet
from gaugebench.store.tracefile import TraceFile, write_trace

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
    source: Path,
    target: Path,
    reading: Mapping[str, Any],
    recipe_to: Path | None = None,
    progress: Callable[[float], bool] | None = None,
) -> Path:
    """Read `source` and write it as what `target` ends in; the path it became.

    reading: roles, and how to read a text file (see `open_trace`). recipe_to: where to keep how it
    was read, so that the next file of the same logger can be read alike. progress: told the share
    of a text file that was read on its way into a trace file, which takes bounded memory however
    long it is; where it answers False, nothing is made. Nothing is overwritten: a taken name gets
    a number. Raises `TraceError`.
    """
    write = writer_for(target)
    if write is write_trace and not is_trace_file(source):
        said = {name: value for name, value in reading.items() if name != "roles"}
        roles = {name: Role.parse(role) for name, role in reading.get("roles", {}).items()}
        made = import_to_file(source, target, recipe_with(roles, said), progress)
        recipe = TraceFile(made).head.recipe
    else:
        trace = open_trace(source, **reading)
        recipe = trace.recipe
        made = write(trace, target)
    if recipe_to is not None:
        if not recipe:
            raise TraceError(f"{source} is a trace file: there is no recipe to keep.")
        save_recipe(recipe_from(dict(recipe)), recipe_to)
    return made
