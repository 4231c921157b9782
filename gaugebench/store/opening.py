"""Opening a trace, whatever kind of file it is in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from gaugebench.errors import TraceError
from gaugebench.model.role import Role
from gaugebench.model.trace import Trace
from gaugebench.store.h5access import is_hdf5
from gaugebench.store.importing.recipe import recipe_with
from gaugebench.store.tracefile import TraceFile

_NO_ROLES: Mapping[str, Role | str] = {}


def open_trace(path: Path, roles: Mapping[str, Role | str] = _NO_ROLES, **flags: Any) -> Trace:
    """The trace in a file: a trace file (.h5), or text that a logger wrote, gzipped or not.

    roles: which column plays which role, by the column's name. flags: how to read a text file,
    the fields of `store.importing.recipe.Recipe`. Raises `TraceError`; `ImportChoiceNeeded` where
    a text file can be read in two ways; `UnitError` where a role or unit is not known.
    """
    chosen = {name: _role(role) for name, role in roles.items()}
    if is_trace_file(path):
        if flags:
            raise TraceError(f"{path.name} is a trace file; {', '.join(flags)} are for text files.")
        return _with_roles(TraceFile(path).trace(), chosen)
    recipe = recipe_with(chosen, flags)
    from gaugebench.store.importing.importer import import_trace  # brings a CSV engine

    return import_trace(path, recipe)


def is_trace_file(path: Path) -> bool:
    """Whether a file is to be read as a trace file, by its name or by its content."""
    return path.suffix.lower() in {".h5", ".hdf5", ".nxs"} or is_hdf5(path)


def _role(role: Role | str) -> Role:
    return role if isinstance(role, Role) else Role.parse(role)


def _with_roles(trace: Trace, roles: Mapping[str, Role]) -> Trace:
    if not roles:
        return trace
    names = {s.channel.name for s in trace.series}
    if strange := [name for name in roles if name not in names]:
        known = ", ".join(sorted(names))
        raise TraceError(f"The trace has no channel “{strange[0]}”; it has {known}.")
    series = tuple(
        replace(s, channel=replace(s.channel, role=roles.get(s.channel.name, s.channel.role)))
        for s in trace.series
    )
    return replace(trace, series=series)
