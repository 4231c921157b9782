"""Everything that is decided about a file before its rows are read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from gaugebench.errors import TraceError, UnitError
from gaugebench.model.channel import Channel
from gaugebench.model.conditioning import Chain
from gaugebench.model.role import Role
from gaugebench.quantity import Dimension, Unit
from gaugebench.store.importing import cells
from gaugebench.store.importing.cells import Heading
from gaugebench.store.importing.questions import Question, Undecided, flag
from gaugebench.store.importing.recipe import Recipe
from gaugebench.store.importing.sniff import Layout, sniff
from gaugebench.store.importing.text import TextSource
from gaugebench.store.importing.timekind import TimeKind, TimePlan, date_order, plan_time

FULL_SHARE = 0.8
"""A column with fewer of its cells filled has a rate of its own; empty is then “no sample”."""


@dataclass(frozen=True, slots=True)
class ColumnPlan:
    """A column of values. index: in the file. sparse: it has a rate, and so times, of its own."""

    index: int
    channel: Channel
    sparse: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """A file, and how it is read. recipe: with everything filled in that was found."""

    source: TextSource
    layout: Layout
    time: TimePlan
    columns: tuple[ColumnPlan, ...]
    recipe: Recipe
    remarks: tuple[str, ...] = ()


def plan_import(path: Path, recipe: Recipe) -> Plan:
    """Decide all of it. Raises `TraceError`; `Undecided` with every open question at once."""
    source = TextSource(path, recipe.encoding or "")
    layout = sniff(source.sample(), recipe, path.name)
    time, questions = plan_time(layout, recipe, path.name)
    questions = [*layout.questions, *questions]
    if any(q.field == "date_order" for q in questions):
        time, questions = _look_at_all_dates(source, layout, time, questions)
    columns, remarks, asked = _columns(layout, time, recipe, path.name)
    questions += asked
    if questions:
        raise Undecided(path.name, questions)
    if not columns:
        raise TraceError(f"{path.name} has a time column and no column of values.")
    return Plan(
        source, layout, time, tuple(columns), _filled(recipe, source, layout, time), remarks
    )


def _look_at_all_dates(
    source: TextSource, layout: Layout, time: TimePlan, questions: list[Question]
) -> tuple[TimePlan, list[Question]]:
    """The sample leaves the order of day and month open; a later row may settle it."""
    from dataclasses import replace

    from gaugebench.store.importing.engine import Engine

    column = time.column if time.date_column is None else time.date_column
    assert column is not None  # noqa: S101 - a question on dates has a column of dates
    engine = Engine(
        separator=layout.separator, decimal=layout.decimal, thousands="",
        width=len(layout.headings), numeric=(), textual=(column,),
    )  # fmt: skip
    orders = set()
    for block in source.blocks(layout.skip_lines):
        found = engine.read(block)
        if found.rows:
            orders.add(date_order(found.texts[column].unique().to_pylist()))
    settled = orders - {None}
    if len(settled) > 1:
        raise TraceError(f"The dates in {source.path.name} change their order from row to row.")
    if not settled:
        return time, questions
    left = [q for q in questions if q.field != "date_order"]
    return replace(time, date_order=settled.pop() or ""), left


def _columns(
    layout: Layout, time: TimePlan, recipe: Recipe, name: str
) -> tuple[list[ColumnPlan], tuple[str, ...], list[Question]]:
    taken = {time.column, time.date_column}
    columns: list[ColumnPlan] = []
    questions: list[Question] = []
    remarks: list[str] = []
    for index, found in enumerate(layout.headings):
        if index in taken:
            continue
        cells_seen = [row[index] for row in layout.rows if index < len(row)]
        filled = [c for c in cells_seen if c]
        role = _role_of(found, recipe)
        if not filled and not found.text:
            continue  # what a trailing separator makes
        if filled and not _numeric(filled, layout):
            remarks.append(f"Column “{found.text}” holds words, not numbers, and was left out.")
            if role is not None:
                raise TraceError(f"Column “{found.text}” of {name} holds no numbers.")
            continue
        channel, asked = _channel(found, role, recipe)
        questions += asked
        sparse = bool(filled) and len(filled) < FULL_SHARE * len(cells_seen)
        columns.append(ColumnPlan(index, channel, sparse))
    _check_named(layout, recipe, name)
    return columns, tuple(remarks), questions


def _numeric(filled: Sequence[str], layout: Layout) -> bool:
    good = sum(
        cells.is_number(c, layout.decimal, layout.thousands) or c in cells.MISSING_WORDS
        for c in filled[:500]
    )
    return good * 2 >= len(filled[:500])


def _role_of(found: Heading, recipe: Recipe) -> Role | None:
    for wanted, role in recipe.roles.items():
        if found.is_called(wanted):
            return Role.parse(role)
    try:
        return Role.parse(found.name)
    except UnitError:
        return None


def _channel(found: Heading, role: Role | None, recipe: Recipe) -> tuple[Channel, list[Question]]:
    stated = next((u for n, u in recipe.units.items() if found.is_called(n)), found.unit)
    known = cells.known_unit(stated)
    if any(found.is_called(n) for n in recipe.units) and known is None:
        raise UnitError(f"The unit “{stated}” given for column “{found.name}” is not known.")
    name = found.name or found.text
    if known is None:
        asked = _unit_question(found, role, stated)
        channel = Channel(name, role, Dimension.OTHER, raw_unit=stated)
        return channel, [asked] if asked else []
    if role is not None and role.dimension is not known.dimension:
        raise UnitError(
            f"Column “{found.text}” is in {stated}, but {role} is a "
            f"{role.dimension.name.lower()}; give it another role or unit."
        )
    return channel_in(name, role, known, cells.usual_unit(stated)), []


def channel_in(name: str, role: Role | None, known: Unit, written: str) -> Channel:
    """A channel whose raw values are already in a unit."""
    return Channel(
        name,
        role,
        known.dimension,
        known.reference,
        raw_unit=written,
        chain=Chain(raw_factor=known.factor, raw_offset=known.offset),
    )


def _unit_question(found: Heading, role: Role | None, stated: str) -> Question | None:
    if stated and cells.looks_like_temperature(stated):
        readings = (("°C", "degrees Celsius"), ("°F", "degrees Fahrenheit"))
        text = f"the unit “{stated}” of “{found.name}” is unknown and looks like a temperature"
        return Question("units", flag("unit-of", f"{found.name}=°C"), text, readings, found.name)
    if role is not None or (not stated and cells.looks_like_pressure(found)):
        said = f"the unit “{stated}” of" if stated else "no unit is stated for"
        text = f"{said} “{found.name}”" + (" is unknown" if stated else "")
        return Question("units", flag("unit-of", f"{found.name}=bar"), text, column=found.name)
    return None


def _check_named(layout: Layout, recipe: Recipe, name: str) -> None:
    for wanted in (*recipe.roles, *recipe.units):
        if not any(h.is_called(wanted) for h in layout.headings):
            known = ", ".join(h.name for h in layout.headings if h.name)
            raise TraceError(f"{name} has no column “{wanted}”; it has {known}.")


def _filled(recipe: Recipe, source: TextSource, layout: Layout, time: TimePlan) -> Recipe:
    found: dict[str, object] = {
        "encoding": source.encoding,
        "separator": layout.separator,
        "decimal": layout.decimal,
        "thousands": layout.thousands,
    }
    if time.column is not None:
        found["time_column"] = layout.headings[time.column].name
    if time.date_order:
        found["date_order"] = time.date_order
    if time.kind is TimeKind.ELAPSED and not layout.headings[time.column or 0].unit:
        found["time_unit"] = recipe.time_unit
    return recipe.model_copy(update=found)


def coarse_step(times: np.ndarray[tuple[int], np.dtype[np.float64]]) -> tuple[float, int]:
    """Where several rows share each stamp: the stamps' step and the rows in one; else 0 and 1."""
    rises = np.diff(times)
    steps = rises[rises > 0]
    if not len(steps) or len(times) < 4:
        return 0.0, 1
    changes = np.flatnonzero(rises > 0)
    if (np.count_nonzero(rises == 0) < 0.4 * len(rises)) or len(changes) < 1:
        return 0.0, 1
    groups = np.diff(np.concatenate(([-1], changes, [len(times) - 1])))
    return float(np.min(steps)), int(np.max(groups))
