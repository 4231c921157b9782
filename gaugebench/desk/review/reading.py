"""How a text file would be read: its first rows, what was found, and what must be asked. No Qt."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Any

from gaugebench.errors import TraceError, UnitError
from gaugebench.model.role import Port, Role
from gaugebench.quantity import Dimension
from gaugebench.store.importing import cells
from gaugebench.store.importing.cells import Heading
from gaugebench.store.importing.decided import is_fully_decided
from gaugebench.store.importing.plan import plan_import
from gaugebench.store.importing.questions import Question, Undecided
from gaugebench.store.importing.recipe import Recipe, recipe_from
from gaugebench.store.importing.sniff import Layout, sniff
from gaugebench.store.importing.text import TextSource
from gaugebench.store.importing.timekind import TimeKind, TimePlan, plan_time

SHOWN_ROWS = 12
SHOWN_LINES = 20


class Use(StrEnum):
    """What a column is for."""

    TIME = "time"
    VALUE = "value"
    WORDS = "words, left out"


@dataclass(frozen=True, slots=True)
class Column:
    """One column. text: its heading as written. unit, role: as they stand; empty for none."""

    name: str
    text: str
    use: Use
    unit: str = ""
    role: str = ""

    @property
    def dimension(self) -> Dimension | None:
        """What is measured, where the unit says it."""
        known = cells.known_unit(self.unit)
        return known.dimension if known is not None else None

    @property
    def has_open_reference(self) -> bool:
        """Whether it is a pressure of which nobody says if it is gauge or absolute."""
        known = cells.known_unit(self.unit)
        return (
            self.use is Use.VALUE
            and known is not None
            and known.dimension is Dimension.PRESSURE
            and known.reference is None
        )


@dataclass(frozen=True, slots=True)
class Look:
    """A file looked at with a recipe.

    said: the recipe. facts: the same with what was found filled in, as far as it was. lines: the
    file's first lines as written. trouble: why it cannot be read so.
    """

    path: Path
    size: int
    said: Recipe
    facts: Recipe
    lines: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    columns: tuple[Column, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    questions: tuple[Question, ...] = ()
    remarks: tuple[str, ...] = ()
    trouble: str = ""
    is_decided: bool = False
    """Whether its own headings say everything, so that there is nothing to look at first."""

    @property
    def is_ready(self) -> bool:
        """Whether it can be read."""
        return not self.questions and not self.trouble

    @property
    def has_main(self) -> bool:
        """Whether a column is a pump's main pressure."""
        roles = [Role(c.role) for c in self.columns if c.role]
        return any(r.port is Port.MAIN for r in roles)

    @property
    def open_references(self) -> tuple[str, ...]:
        """The pressures of which the file does not say whether they are gauge or absolute."""
        return tuple(c.name for c in self.columns if c.has_open_reference)


def look(path: Path, recipe: Recipe) -> Look:
    """Look at a text file; it may be read through once for its dates, so off the window's thread.

    Raises `TraceError` where it is no text at all; any other trouble is in the answer.
    """
    source = TextSource(path, recipe.encoding or "")
    text = source.sample()
    facts = recipe.model_copy(update={"encoding": source.encoding})
    lines = tuple(text.split("\n")[:SHOWN_LINES])
    try:
        layout = sniff(text, recipe, path.name)
    except TraceError as fault:
        return Look(path, source.size, recipe, facts, lines, trouble=str(fault))
    facts = facts.model_copy(
        update={
            "separator": layout.separator,
            "decimal": layout.decimal,
            "thousands": layout.thousands,
        }
    )
    time, questions, trouble = _time(layout, recipe, path.name)
    remarks: tuple[str, ...] = ()
    decided = False
    if not any(q.field == "time_column" for q in questions):
        try:
            plan = plan_import(path, recipe)
            facts, remarks, questions = plan.recipe, plan.remarks, ()
            decided = is_fully_decided(plan)
        except Undecided as undecided:
            questions = undecided.questions
        except (TraceError, UnitError) as fault:
            questions, trouble = (), str(fault)
    return Look(
        path, source.size, recipe, facts, lines, layout.preamble,
        tuple(_column(i, h, layout, time, recipe) for i, h in enumerate(layout.headings)),
        layout.rows[:SHOWN_ROWS], questions, remarks, trouble, decided,
    )  # fmt: skip


def answered(recipe: Recipe, field: str, value: Any, column: str = "") -> Recipe:
    """The recipe with one more thing said; None, or an empty unit or role, takes it back.

    Raises `TraceError` where it cannot be so.
    """
    data = recipe.model_dump()
    if field in {"units", "roles"}:
        kept = {name: said for name, said in data[field].items() if name != column}
        data[field] = kept | ({column: value} if value else {})
    else:
        data[field] = value
    return recipe_from(data)


def with_reference(seen: Look, letter: str) -> Recipe:
    """The recipe with every pressure of open reference taken as gauge (`g`) or absolute (`a`)."""
    recipe = seen.said
    for column in seen.columns:
        if column.has_open_reference:
            recipe = answered(recipe, "units", f"{column.unit}({letter})", column.name)
    return recipe


def _time(
    layout: Layout, recipe: Recipe, name: str
) -> tuple[TimePlan | None, tuple[Question, ...], str]:
    try:
        time, _ = plan_time(layout, recipe, name)
    except TraceError as fault:
        if recipe.time_column is not None or recipe.rate_hz is not None:
            return None, (), str(fault)
        at_rate, _ = plan_time(layout, recipe.model_copy(update={"rate_hz": 1.0}), name)
        if at_rate.kind is not TimeKind.ROWS:
            return None, (), str(fault)
        names = tuple((h.name, h.text) for h in layout.headings if h.name)
        return None, (Question("time_column", "", "", names),), ""
    return time, (), ""


def _column(
    index: int, found: Heading, layout: Layout, time: TimePlan | None, recipe: Recipe
) -> Column:
    if time is not None and index in {time.column, time.date_column}:
        unit = (recipe.time_unit or found.unit) if index == time.column else ""
        return Column(found.name, found.text, Use.TIME, unit)
    filled = [row[index] for row in layout.rows[:500] if index < len(row) and row[index]]
    numbers = sum(
        cells.is_number(c, layout.decimal, layout.thousands) or c in cells.MISSING_WORDS
        for c in filled
    )
    unit = next((u for n, u in recipe.units.items() if found.is_called(n)), found.unit)
    role = next((r for n, r in recipe.roles.items() if found.is_called(n)), _own_role(found))
    use = Use.WORDS if filled and 2 * numbers < len(filled) else Use.VALUE
    return Column(found.name, found.text, use, unit, role)


def _own_role(found: Heading) -> str:
    try:
        return Role.parse(found.name).name
    except UnitError:
        return ""
