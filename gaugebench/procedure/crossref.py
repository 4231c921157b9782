"""Faults of a sheet that lie between its tables: names that nothing bears, doubles, missing words.

Works on parsed TOML as it came, so that these faults are named even where single values are wrong.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from gaugebench.errors import UnitError
from gaugebench.model.role import Role
from gaugebench.model.sheet import HELD
from gaugebench.model.terms import Measures

Fault = tuple[str, str]
_DOUBLES = (
    ("pump", "number"),
    ("relief", "name"),
    ("function", "name"),
    ("screw", "name"),
    ("change", "key"),
    ("check", "key"),
)
_ON_A_FUNCTION = [f.value for f in Measures if f in {*HELD, Measures.CYCLE, Measures.FLOW}]
"""A list, since what is looked up in it may be anything that TOML can say."""


def cross_faults(data: Mapping[str, Any]) -> Iterator[Fault]:
    """Pairs of key and what is wrong there, in the order of the tables."""
    for table, name in _DOUBLES:
        yield from _doubles(table, name, _tables(data, table))
    pumps = [row.get("number") for row in _tables(data, "pump")]
    names = {table: [row.get(name) for row in _tables(data, table)] for table, name in _DOUBLES}
    for n, row in enumerate(_tables(data, "function"), 1):
        yield from _function(f"function[{n}]", row, pumps, names["relief"])
    for n, row in enumerate(_tables(data, "change"), 1):
        for k, key in enumerate(_words(row.get("read_again")), 1):
            yield from _known(f"change[{n}].read_again[{k}]", key, names["check"], "check")
    modes = _modes(data)
    for n, row in enumerate(_tables(data, "check"), 1):
        yield from _check(f"check[{n}]", row, pumps, names)
        if row.get("mode") and modes and row["mode"] not in modes:
            yield f"check[{n}].mode", f"“{row['mode']}” is not one of machine.modes"
    for table in ("travel", "balance"):
        yield from _sourced(table, data.get(table))


def _function(
    where: str, row: Mapping[str, Any], pumps: list[Any], reliefs: list[Any]
) -> Iterator[Fault]:
    fed_by = row.get("pumps")
    for k, pump in enumerate(fed_by if isinstance(fed_by, list) else [], 1):
        if pump not in pumps:
            yield f"{where}.pumps[{k}]", f"there is no [[pump]] with number {pump}"
    for key in ("relief", "port_relief"):
        if isinstance(row.get(key), str):
            yield from _known(f"{where}.{key}", row[key], reliefs, "relief")
    if row.get("merged") is True and isinstance(fed_by, list) and len(fed_by) < 2:
        yield f"{where}.merged", "a merged function needs at least two pumps"


def _check(
    where: str, row: Mapping[str, Any], pumps: list[Any], names: Mapping[str, list[Any]]
) -> Iterator[Fault]:
    function = row.get("function")
    if isinstance(function, str):
        yield from _known(f"{where}.function", function, names["function"], "function")
    elif row.get("figure") in _ON_A_FUNCTION:
        yield f"{where}.function", f"is missing; a {row['figure']} is taken on a function"
    for key, table in (("screws", "screw"), ("needs", "change")):
        for k, name in enumerate(_words(row.get(key)), 1):
            yield from _known(f"{where}.{key}[{k}]", name, names[table], table)
    pump = _pump(row.get("measures"))
    if pump is not None and pump not in pumps:
        yield f"{where}.measures", f"there is no [[pump]] with number {pump}"
    yield from _sourced(where, row)


def _sourced(where: str, row: Any) -> Iterator[Fault]:
    """A limit says where its number is from."""
    limits = ("band", "limit", "separate", "shared", "travel")
    if (
        isinstance(row, Mapping)
        and any(isinstance(row.get(key), str) for key in limits)
        and not row.get("source")
    ):
        yield f"{where}.source", "is missing; say where the number is from, “maker's sheet, page …”"


def _known(where: str, name: Any, known: list[Any], table: str) -> Iterator[Fault]:
    if name in known:
        return
    words = [w for w in known if isinstance(w, str)]
    near = difflib.get_close_matches(str(name), words, n=1)
    hint = f"; did you mean “{near[0]}”?" if near else ""
    yield where, f"there is no [[{table}]] called “{name}”{hint}"


def _doubles(table: str, name: str, rows: Iterable[Mapping[str, Any]]) -> Iterator[Fault]:
    seen: list[Any] = []
    for n, row in enumerate(rows, 1):
        value = row.get(name)
        if value is not None and value in seen:
            yield f"{table}[{n}].{name}", f"“{value}” is given twice"
        seen.append(value)


def _tables(data: Mapping[str, Any], name: str) -> list[Mapping[str, Any]]:
    rows = data.get(name)
    if not isinstance(rows, list):
        return []
    return [row if isinstance(row, Mapping) else {} for row in rows]


def _modes(data: Mapping[str, Any]) -> list[Any]:
    machine = data.get("machine")
    return _words(machine.get("modes")) if isinstance(machine, Mapping) else []


def _words(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []


def _pump(role: Any) -> int | None:
    try:
        return Role.parse(role).pump if isinstance(role, str) else None
    except UnitError:
        return None  # named as a fault of the value itself
