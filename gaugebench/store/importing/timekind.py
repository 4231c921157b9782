"""Which column is time, in what form, and how its cells become seconds."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from gaugebench.errors import TraceError
from gaugebench.quantity import Dimension
from gaugebench.store.importing import cells
from gaugebench.store.importing.questions import Question, flag
from gaugebench.store.importing.recipe import Recipe
from gaugebench.store.importing.sniff import Layout


class TimeKind(StrEnum):
    """The form in which a file tells time."""

    ELAPSED = "elapsed"
    """Numbers in a unit of time."""
    CLOCK = "clock"
    """H:MM:SS, on some day."""
    MINUTES = "minutes"
    """M:SS, counted from the start."""
    STAMP = "date and time"
    DAYS = "days"
    """Days of a spreadsheet, counted from 1899-12-30."""
    EPOCH = "epoch"
    """Seconds or milliseconds since 1970-01-01 UTC."""
    COUNTER = "counter"
    """A running number at a known rate."""
    ROWS = "rows"
    """No time column at all, rows follow at a known rate."""


@dataclass(frozen=True, slots=True)
class TimePlan:
    """How to make times.

    column: its index; date_column: of a date that stands apart, or None. factor: seconds for one
    of the column's unit. date_order: `dmy`, `mdy` or `ymd` where dates are read.
    """

    kind: TimeKind
    column: int | None
    factor: float = 1.0
    date_column: int | None = None
    date_order: str = ""
    twelve_hours: bool = False

    @property
    def is_text(self) -> bool:
        """Whether the cells are read as text."""
        return self.kind in {TimeKind.CLOCK, TimeKind.MINUTES, TimeKind.STAMP}


_UNITS = {
    "s": 1.0, "sec": 1.0, "second": 1.0, "seconds": 1.0, "secs": 1.0, "ms": 1e-3, "msec": 1e-3,
    "millis": 1e-3, "milliseconds": 1e-3, "us": 1e-6, "µs": 1e-6, "μs": 1e-6, "ns": 1e-9,
    "min": 60.0, "minutes": 60.0, "h": 3600.0, "hr": 3600.0, "hours": 3600.0,
}  # fmt: skip
_EPOCHS = {"epoch-s": 1.0, "epoch-ms": 1e-3, "epoch-us": 1e-6, "epoch-ns": 1e-9}
_DAY = 86_400.0
_DATE_PARTS = re.compile(r"^(\d{1,4})([-/.])(\d{1,2})\2(\d{1,4})")


def plan_time(layout: Layout, recipe: Recipe, name: str) -> tuple[TimePlan, list[Question]]:
    """The time plan and what must be asked. Raises `TraceError` where there is no time."""
    column = _find_column(layout, recipe, name)
    if column is None:
        if recipe.rate_hz is not None:
            return TimePlan(TimeKind.ROWS, None, 1.0 / recipe.rate_hz), []
        known = ", ".join(h.text for h in layout.headings)
        raise TraceError(
            f"{name} has no column that is called a time (it has {known}); say which it is with "
            "--time-column, or the rate of its rows with --rate."
        )
    values = [row[column] for row in layout.rows if column < len(row) and row[column]]
    if values and _share(values, cells.is_time) > 0.5:
        return _textual(layout, recipe, column, values)
    return _numeric(layout, recipe, column, values)


def _share(values: Sequence[str], test: Callable[[str], bool]) -> float:
    return sum(test(v) for v in values) / len(values)


def _find_column(layout: Layout, recipe: Recipe, name: str) -> int | None:
    headings = layout.headings
    if recipe.time_column is not None:
        for index, found in enumerate(headings):
            if found.is_called(recipe.time_column):
                return index
        known = ", ".join(h.text for h in headings)
        raise TraceError(f"{name} has no column “{recipe.time_column}”; it has {known}.")
    first_row = layout.rows[0] if layout.rows else ()
    named = [i for i, h in enumerate(headings) if cells.is_time_word(h)]
    dates = [i for i in named if cells.is_date_word(headings[i])]
    if dates and len(named) > 1 and _is_date_cell(first_row, dates[0]):
        named.remove(dates[0])  # a date that stands apart; the clock is the other
    if named:
        return named[0]
    for index, found in enumerate(headings):
        stated = cells.known_unit(found.unit)
        if stated is not None and stated.dimension is Dimension.TIME:
            return index
    for index, cell in enumerate(first_row):
        if cells.is_time(cell):
            return index
    return next((i for i, h in enumerate(headings) if cells.is_counter_word(h)), None)


def _is_date_cell(row: Sequence[str], index: int) -> bool:
    return index < len(row) and cells.is_date(row[index])


def _numeric(
    layout: Layout, recipe: Recipe, column: int, values: Sequence[str]
) -> tuple[TimePlan, list[Question]]:
    found = layout.headings[column]
    word = (recipe.time_unit or found.unit).strip().lower()
    if word in _UNITS:
        return TimePlan(TimeKind.ELAPSED, column, _UNITS[word]), []
    if word in _EPOCHS:
        return TimePlan(TimeKind.EPOCH, column, _EPOCHS[word]), []
    if word in {"d", "day", "days"}:
        kind = (
            TimeKind.DAYS if _between(values, layout.decimal, 20_000, 80_000) else TimeKind.ELAPSED
        )
        return TimePlan(kind, column, _DAY), []
    if cells.is_counter_word(found):
        if recipe.rate_hz is not None:
            return TimePlan(TimeKind.COUNTER, column, 1.0 / recipe.rate_hz), []
        text = f"“{found.text}” counts samples and the rate is not stated"
        return TimePlan(TimeKind.COUNTER, column), [Question("rate_hz", flag("rate", "100"), text)]
    readings = _readings(values, layout.decimal)
    text = f"“{found.text}” states no unit of time"
    asked = Question("time_unit", flag("time-unit", readings[0][0]), text, readings)
    return TimePlan(TimeKind.ELAPSED, column), [asked]


def _readings(values: Sequence[str], decimal: str) -> tuple[tuple[str, str], ...]:
    if _between(values, decimal, 20_000, 80_000):
        return ("days", "a spreadsheet's days"), ("s", "seconds")
    if _between(values, decimal, 1e8, 5e9):
        return ("epoch-s", "seconds since 1970"), ("ms", "milliseconds")
    if _between(values, decimal, 1e11, 5e12):
        return ("epoch-ms", "milliseconds since 1970"), ("us", "microseconds")
    return ("s", "seconds"), ("ms", "milliseconds")


def _between(values: Sequence[str], decimal: str, low: float, high: float) -> bool:
    numbers = [float(v.replace(decimal, ".")) for v in values[:50] if cells.is_number(v, decimal)]
    return bool(numbers) and all(low < n < high for n in numbers)


def _textual(
    layout: Layout, recipe: Recipe, column: int, values: Sequence[str]
) -> tuple[TimePlan, list[Question]]:
    date_column = next(
        (
            i
            for i, h in enumerate(layout.headings)
            if i != column and cells.is_date_word(h) and _is_date_cell(layout.rows[0], i)
        ),
        None,
    )
    twelve = any(re.search(r"[AaPp]\.?[Mm]", v) for v in values[:50])
    dated = values if date_column is None else [r[date_column] for r in layout.rows]
    if not _DATE_PARTS.match(cells.numbered(dated[0])):
        parts = values[0].split(" ")[0].count(":")
        kind = TimeKind.CLOCK if parts >= 2 or twelve else TimeKind.MINUTES
        return TimePlan(kind, column, twelve_hours=twelve), []
    order = recipe.date_order or date_order(dated)
    plan = TimePlan(TimeKind.STAMP, column, 1.0, date_column, order or "", twelve)
    if order is not None:
        return plan, []
    return plan, [_order_question(dated[0])]


def _order_question(example: str) -> Question:
    match = _DATE_PARTS.match(example)
    assert match is not None  # noqa: S101 - the caller has seen it match
    one, _, two, year = match.groups()
    return Question(
        "date_order",
        flag("date-order", "dmy"),
        f"the date “{match[0]}” may have the day or the month first",
        (
            ("dmy", f"{year}-{int(two):02}-{int(one):02}"),
            ("mdy", f"{year}-{int(one):02}-{int(two):02}"),
        ),
    )


def date_order(values: Iterable[str]) -> str | None:
    """The one order in which every date of a column makes sense, or None where both do.

    Dotted dates have the day first; a year in front settles it. Raises `TraceError` where no
    order fits all of them.
    """
    day_first = month_first = True
    for value in values:
        if (by_word := cells.month_order(value)) is not None:
            return by_word
        match = _DATE_PARTS.match(value)
        if match is None:
            continue
        one, mark, two = match[1], match[2], match[3]
        if len(one) == 4:
            return "ymd"
        if mark == ".":
            return "dmy"
        day_first &= int(two) <= 12
        month_first &= int(one) <= 12
        if not (day_first or month_first):
            raise TraceError(
                f"The dates of the column fit neither order, day first or month first (“{value}”)."
            )
    if day_first and month_first:
        return None
    return "dmy" if day_first else "mdy"
