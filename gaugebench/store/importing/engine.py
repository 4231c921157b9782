"""The CSV engine: blocks of lines through pyarrow, bad rows counted, nothing lost silently."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv as pcsv

from gaugebench.model.arrays import F64
from gaugebench.store.importing.cells import MISSING_WORDS

MOST_SAMPLES = 20
_NUL_LINE = re.compile(rb"[^\n]*\0[^\n]*\n?")
_SPACES = re.compile(rb"[ \t]+")
_NUMBER = r"^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?$"


@dataclass(slots=True)
class Faults:
    """What could not be read: counted by kind, the first of each kept as written."""

    counts: Counter[str] = field(default_factory=Counter)
    samples: dict[str, list[bytes]] = field(default_factory=dict)

    def add(self, kind: str, text: bytes, count: int = 1) -> None:
        """Count one more."""
        self.counts[kind] += count
        kept = self.samples.setdefault(kind, [])
        if len(kept) < MOST_SAMPLES:
            kept.append(text[:200])


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """A block's columns by index. numbers: float64, NaN for “no number”, and `empty` tells which
    cells were empty. texts: arrow arrays of text.
    """

    rows: int
    numbers: dict[int, F64]
    empty: dict[int, Any]
    texts: dict[int, Any]


class Engine:
    """Reads blocks of one file. width: columns a row; numeric, textual: which to read, and how."""

    def __init__(
        self,
        *,
        separator: str,
        decimal: str,
        thousands: str,
        width: int,
        numeric: Sequence[int],
        textual: Sequence[int],
        missing: Sequence[str] = (),
    ) -> None:
        self.faults = Faults()
        self._separator = separator
        self._decimal = decimal
        self._thousands = thousands
        self._names = [str(i) for i in range(width)]
        self._numeric = list(numeric)
        self._textual = list(textual)
        self._words = [*MISSING_WORDS, *missing]
        self._opening = re.compile(rb'(?:^|%b)\s*"' % re.escape(separator.encode()))

    def read(self, block: bytes) -> Columns:
        """A block of whole lines."""
        if b"\0" in block:
            block = _NUL_LINE.sub(self._count_nul, block)
        if b'"' in block:
            block = self._without_open_quotes(block)
        if self._separator == " ":
            lines = (_SPACES.sub(b" ", line).strip(b" ") for line in block.split(b"\n"))
            block = b"\n".join(lines) + b"\n"
        if not block or block.isspace():
            return Columns(0, {i: np.empty(0) for i in self._numeric}, {}, {})
        before = Counter(self.faults.counts)
        if not self._thousands:
            try:
                return self._taken(self._parse(block, typed=True))
            except pa.ArrowInvalid:
                self.faults.counts = before  # the same rows are counted again below
        return self._coerced(self._parse(block, typed=False))

    def _without_open_quotes(self, block: bytes) -> bytes:
        """The block without lines in which a quote opens and never closes: the parser would read on
        to the next quote, over any number of rows.
        """
        data = np.frombuffer(block, np.uint8)
        ends = np.flatnonzero(data == ord("\n"))
        quotes = np.bincount(np.searchsorted(ends, np.flatnonzero(data == ord('"'))))
        kept, done = [], 0
        for number in np.flatnonzero(quotes % 2).tolist():
            low = int(ends[number - 1]) + 1 if number else 0
            high = int(ends[number]) + 1 if number < len(ends) else len(block)
            line = block[low:high]
            if not self._opening.search(line):
                continue  # a mark within a cell, such as inches
            self.faults.add("open quote", line.rstrip(b"\n"))
            kept.append(block[done:low])
            done = high
        return b"".join([*kept, block[done:]]) if done else block

    def _parse(self, block: bytes, *, typed: bool) -> Any:
        number = pa.float64() if typed else pa.string()
        types = {str(i): number for i in self._numeric} | {
            str(i): pa.string() for i in self._textual
        }
        return pcsv.read_csv(
            pa.BufferReader(block),
            read_options=pcsv.ReadOptions(column_names=self._names, block_size=1 << 20),
            parse_options=pcsv.ParseOptions(
                delimiter=self._separator, invalid_row_handler=self._count_row
            ),
            convert_options=pcsv.ConvertOptions(
                column_types=types,
                include_columns=list(types),
                null_values=[""],
                strings_can_be_null=False,
                decimal_point=self._decimal if typed else ".",
            ),
        )

    def _taken(self, table: Any) -> Columns:
        numbers, empty = {}, {}
        for i in self._numeric:
            column = table.column(str(i))
            empty[i] = column.is_null().to_numpy() if column.null_count else None
            numbers[i] = _floats(pc.fill_null(column, np.nan) if column.null_count else column)
        return self._columns(table, numbers, empty)

    def _coerced(self, table: Any) -> Columns:
        numbers, empty = {}, {}
        for i in self._numeric:
            numbers[i], empty[i] = self._numbers(table.column(str(i)))
        return self._columns(table, numbers, empty)

    def _columns(self, table: Any, numbers: dict[int, F64], empty: dict[int, Any]) -> Columns:
        texts = {i: table.column(str(i)).combine_chunks() for i in self._textual}
        return Columns(table.num_rows, numbers, empty, texts)

    def _numbers(self, column: Any) -> tuple[F64, Any]:
        """Text cells as numbers; what is neither number, empty nor a word for it is counted."""
        words = pc.utf8_trim_whitespace(column)
        is_empty = pc.equal(words, "")
        if self._thousands:
            marks = [self._thousands] if self._thousands != " " else [" ", " ", " "]
            for mark in marks:
                words = pc.replace_substring(words, mark, "")
        if self._decimal != ".":
            words = pc.replace_substring(words, self._decimal, ".")
        is_number = pc.match_substring_regex(words, _NUMBER)
        known = pc.or_(pc.is_in(words, value_set=pa.array(self._words)), is_empty)
        strange = pc.invert(pc.or_(is_number, known))
        for cell in column.filter(strange)[:MOST_SAMPLES].to_pylist():
            self.faults.add("not a number", str(cell).encode(), 0)
        if count := pc.sum(strange).as_py():
            self.faults.counts["not a number"] += count
        cleaned = pc.if_else(is_number, pc.utf8_ltrim(words, characters="+"), "nan")
        return _floats(pc.cast(cleaned, pa.float64())), is_empty.to_numpy()

    def _count_row(self, row: Any) -> str:
        kind = (
            "too few columns" if row.actual_columns < row.expected_columns else "too many columns"
        )
        self.faults.add(kind, row.text.encode("utf-8", "replace"))
        return "skip"

    def _count_nul(self, match: re.Match[bytes]) -> bytes:
        self.faults.add("NUL bytes", match[0])
        return b""


def _floats(column: Any) -> F64:
    """A column without nulls as numpy; its own conversion would bring in pandas, 0.3 s."""
    parts = [
        np.frombuffer(chunk.buffers()[1], np.float64, len(chunk), 8 * chunk.offset)
        for chunk in column.chunks
        if len(chunk)
    ]
    return np.concatenate(parts) if parts else np.empty(0)
