"""How a text file is laid out, found from many of its lines rather than its first."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from gaugebench.errors import TraceError
from gaugebench.store.importing import cells
from gaugebench.store.importing.cells import Heading
from gaugebench.store.importing.questions import Question, flag
from gaugebench.store.importing.recipe import Recipe

_SEPARATORS = ("\t", ";", "|", ",", " ")
_SAMPLE_ROWS = 400
MOST_COLUMNS = 4096
_NUMERIC_SHARE = 0.5
_COMMENT = re.compile(r"^\s*(?:#|//|%)\s*")


@dataclass(frozen=True, slots=True)
class Layout:
    """What was found. skip_lines: before the first row of numbers. rows: a sample of them.

    headings: one a column. preamble: lines before the header, kept as notes.
    """

    separator: str
    decimal: str
    thousands: str
    skip_lines: int
    headings: tuple[Heading, ...]
    rows: tuple[tuple[str, ...], ...]
    preamble: tuple[str, ...]
    questions: tuple[Question, ...] = ()


def split(line: str, separator: str) -> list[str]:
    """The cells of a line, stripped."""
    if separator == " ":
        return line.split()
    if '"' not in line:
        return [cell.strip() for cell in line.split(separator)]
    try:
        row = next(csv.reader([line], delimiter=separator, skipinitialspace=True))
    except (csv.Error, StopIteration):
        return [line.strip()]
    return [cell.strip() for cell in row]


def sniff(text: str, recipe: Recipe, name: str) -> Layout:
    """The layout of a text, as far as the recipe does not say it. Raises `TraceError`."""
    lines = text.split("\n")
    separator, decimal, thousands, questions = _marks(lines, recipe)
    rows = [split(line, separator) for line in lines]
    width = _width(rows, decimal, thousands)
    if width > MOST_COLUMNS:
        raise TraceError(
            f"{name} has rows of {width} columns, more than the {MOST_COLUMNS} that are read; if "
            "its rows are cycles and its columns samples, turn it first."
        )
    first = _first_row(rows, width, decimal, thousands)
    if first is None:
        raise TraceError(
            f"{name} holds no table of numbers; a trace needs a time column and at least one "
            "column of values."
        )
    if recipe.header_line is not None:
        start = max(first, recipe.header_line)
        header_at: int | None = recipe.header_line - 1 if recipe.header_line else None
        first = _first_row(rows, width, decimal, thousands, start)
        if first is None:
            raise TraceError(f"{name} has no numbers below line {recipe.header_line}.")
    else:
        header_at = _header_line(lines, first, width, separator)
    headings, preamble = _headings(lines, header_at, first, width, separator)
    sample = [tuple(r) for r in rows[first : first + 20_000] if any(r)]
    return Layout(
        separator, decimal, thousands, first, headings, tuple(sample), preamble, questions
    )


def _marks(lines: Sequence[str], recipe: Recipe) -> tuple[str, str, str, tuple[Question, ...]]:
    """Separator, decimal mark and thousands mark that make most sense of the lines."""
    body = [line for line in lines if line.strip(" \t;,|\0")]
    body = body[-_SAMPLE_ROWS:]  # the last lines of a sample are rows, whatever stands above
    best: tuple[float, float, float, int] | None = None
    chosen = (",", ".", "")
    for rank, separator in enumerate(_SEPARATORS):
        if recipe.separator not in {None, separator}:
            continue
        for decimal, thousands in _mark_pairs(separator, recipe):
            score = _score(body, separator, decimal, thousands)
            ranked = (*score, -rank)
            if best is None or ranked > best:
                best, chosen = ranked, (separator, decimal, thousands)
    separator, decimal, thousands = chosen
    return (*_settle_marks(body, separator, decimal, thousands, recipe),)


def _mark_pairs(separator: str, recipe: Recipe) -> list[tuple[str, str]]:
    pairs = [(".", ""), (",", ""), (".", ","), (",", "."), (".", "'"), (".", " "), (",", " ")]
    fits = [
        (d, t)
        for d, t in pairs
        if recipe.decimal in {None, d}
        and recipe.thousands in {None, t}
        and not (separator == " " and t == " ")
    ]
    # A quoted "187,4" may stand in a file separated by commas, so no pair is ruled out by it.
    return fits or [(recipe.decimal or ".", recipe.thousands or "")]


def _score(
    body: Sequence[str], separator: str, decimal: str, thousands: str
) -> tuple[float, float, float]:
    """How many lines of one width are numbers throughout; how much of the rest means something;
    and how plain it is.
    """
    rows = [split(line, separator) for line in body]
    whole = Counter(len(r) for r in rows if len(r) > 1 and _all_numbers(r, decimal, thousands))
    widths = whole or Counter(len(r) for r in rows)
    width = widths.most_common(1)[0][0] if widths else 0
    if width < 2:
        return 0.0, 0.0, 0.0
    shares = [
        sum(_means(c, decimal, thousands) for c in r) / len(r)
        for r in rows
        if len(r) == width and any(r)
    ]
    # Of marks that explain the lines equally, the plainer (no thousands mark) is taken.
    return whole[width], round(sum(shares) / len(rows), 6), -0.1 * bool(thousands)


def _all_numbers(row: Sequence[str], decimal: str, thousands: str) -> bool:
    """Whether every cell means something and one at least is a number or a time."""
    return all(_means(c, decimal, thousands) for c in row) and any(
        cells.is_number(c, decimal, thousands) or cells.is_time(c) for c in row
    )


def _means(cell: str, decimal: str, thousands: str) -> bool:
    return (
        not cell
        or cells.is_number(cell, decimal, thousands)
        or cells.is_time(cell)
        or cell in cells.MISSING_WORDS
    )


def _settle_marks(
    body: Sequence[str], separator: str, decimal: str, thousands: str, recipe: Recipe
) -> tuple[str, str, str, tuple[Question, ...]]:
    """Ask where every number with a mark has exactly three digits behind it: 173,900."""
    if recipe.decimal is not None or thousands:
        return separator, decimal, thousands, ()
    found = [c for line in body for c in split(line, separator) if any(m in c for m in ".,")]
    numbers = [c for c in found if cells.is_number(c, ".") or cells.is_number(c, ",")]
    if not numbers:
        return separator, decimal, thousands, ()
    mark = "," if "," in numbers[0] else "."
    open_to_both = all(re.fullmatch(rf"[+-]?[1-9]\d{{0,2}}\{mark}\d{{3}}", c) for c in numbers)
    if not open_to_both or (mark == "." and separator == ","):
        return separator, decimal, thousands, ()
    example = numbers[0]
    other = "." if mark == "," else ","
    question = Question(
        "decimal",
        flag("decimal", mark),
        f"“{example}” may have a decimal mark or a thousands mark",
        ((mark, example.replace(",", ".")), (other, example.replace(mark, ""))),
    )
    return separator, mark, "", (question,)


def _width(rows: Sequence[Sequence[str]], decimal: str, thousands: str) -> int:
    last = rows[-_SAMPLE_ROWS:]
    for test in (_all_numbers, _is_numeric):
        widths = Counter(len(r) for r in last if len(r) > 1 and test(r, decimal, thousands))
        if widths:
            return widths.most_common(1)[0][0]
    return 0


def _is_numeric(row: Sequence[str], decimal: str, thousands: str) -> bool:
    """Whether a row can be a row of samples: it has a number, and words nowhere."""
    numbers = sum(cells.is_number(c, decimal, thousands) or cells.is_time(c) for c in row)
    filled = sum(bool(c) for c in row)
    return numbers > 0 and numbers >= _NUMERIC_SHARE * filled


def _first_row(
    rows: Sequence[Sequence[str]], width: int, decimal: str, thousands: str, start: int = 0
) -> int | None:
    """The first row of samples: numbers throughout, or, above such a row, numbers mostly."""
    for test in (_all_numbers, _is_numeric):
        for i in range(start, len(rows)):
            if len(rows[i]) == width and test(rows[i], decimal, thousands):
                while i > start and _is_row(rows[i - 1], width, decimal, thousands):
                    i -= 1  # noqa: PLW2901 - the search is over; this walks back
                return i
    return None


def _is_row(row: Sequence[str], width: int, decimal: str, thousands: str) -> bool:
    return len(row) == width > 1 and _is_numeric(row, decimal, thousands)


def _header_line(lines: Sequence[str], first: int, width: int, separator: str) -> int | None:
    """The line that names the columns, counted from 0."""
    block = [i for i in range(first - 1, max(-1, first - 12), -1) if lines[i].strip()]
    block = [i for i in block if _fits_width(lines[i], width, separator)]
    if not block:
        return None
    contiguous = [i for i in sorted(block) if all(lines[j].strip() for j in range(i, first))]
    candidates = contiguous or sorted(block)
    for i in candidates[1:]:
        if _is_units_row(_header_cells(lines[i], width, separator)):
            return candidates[candidates.index(i) - 1]
    for i in candidates:
        if any(
            cells.is_time_word(cells.heading(c)) for c in _header_cells(lines[i], width, separator)
        ):
            return i
    return candidates[-1]


def _header_cells(line: str, width: int, separator: str) -> list[str]:
    """The cells of a header line; loggers often separate names otherwise than numbers."""
    plain = _COMMENT.sub("", line)
    found = split(plain, separator)
    if len(found) >= width - 1 and separator != " ":
        return found
    options = [split(plain, s) for s in ("\t", ";", ",", "|", " ")]
    options.append(re.split(r"\s{2,}", plain.strip()))
    return next((o for o in options if len(o) == width), found)


def _fits_width(line: str, width: int, separator: str) -> bool:
    found = _header_cells(line, width, separator)
    # A trailing separator on the rows alone makes them one longer than their header.
    return len(found) in {width, width - 1, width + 1} and sum(map(bool, found)) * 2 > 1


def _is_units_row(row: Sequence[str]) -> bool:
    filled = [c.strip("[]() ") for c in row if c.strip()]
    known = sum(
        cells.known_unit(cells.repaired(c)) is not None or cells.looks_like_temperature(c)
        for c in filled
    )
    return bool(filled) and known * 2 >= len(filled)


def _headings(
    lines: Sequence[str],
    header_at: int | None,
    first: int,
    width: int,
    separator: str,
) -> tuple[tuple[Heading, ...], tuple[str, ...]]:
    if header_at is None:
        preamble = tuple(line.strip() for line in lines[:first] if line.strip())
        return tuple(Heading(f"column {n}", f"column {n}") for n in range(1, width + 1)), preamble
    names = [cells.heading(c) for c in _header_cells(lines[header_at], width, separator)]
    names = (names + [Heading("", "")] * width)[:width]
    for i in range(header_at + 1, first):
        units = _header_cells(lines[i], width, separator)
        if _is_units_row(units):
            units = (units + [""] * width)[:width]
            names = [
                h
                if h.unit or not u.strip()
                else Heading(h.text, h.name, cells.repaired(u.strip("[]() ")))
                for h, u in zip(names, units, strict=True)
            ]
            break
    preamble = tuple(_COMMENT.sub("", line).strip() for line in lines[:header_at] if line.strip())
    return tuple(names), preamble
