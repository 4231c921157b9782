"""Lines of delimited numbers, as small boards print them.

A line ends with CR, LF or both, mixed at will. The sender may start in the middle of a line and
the bytes may be cut anywhere, so the bytes before the first line end are never taken for a row.
A cell that says “no number” (`nan`, `inf`, `ovf`, nothing at all) is missing; the row is kept.
Whatever else cannot be read is kept as it came and counted by kind.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import compress

import numpy as np

from gaugebench.model.arrays import F64
from gaugebench.wire.checksum import xor8

FIRST_LINE = "first line"
UNDECODABLE = "undecodable"
WRONG_CELLS = "number of cells"
NOT_A_NUMBER = "not a number"
TEXT = "text"
CHECKSUM = "checksum"
TOO_LONG = "too long"
CUT_OFF = "cut off"

MISSING_WORDS = frozenset(
    b"|nan|-nan|+nan|inf|-inf|+inf|infinity|-infinity|ovf|ovl|ol|over|under|na|n/a|null|none|-|--|---"
    .split(b"|")
)  # fmt: skip
_NUMBER = re.compile(rb"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_NUMBER_IN_TEXT = re.compile(
    rb"(?<![\w.,])(?:[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?|nan|ovf|inf)", re.I
)
_LINE_END = re.compile(rb"[\r\n]+")
_CONTROL = re.compile(rb"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


@dataclass(frozen=True, slots=True)
class LineFormat:
    """How a line is laid out.

    cells: how many cells a line has. values: the positions, from 0, of the cells wanted, in the
    order wanted. time: the position of the device's time, or None. time_unit_s: what 1 in that
    cell means, s. delimiter: between two cells; empty: any run of white space. mixed: the cells
    are the numbers found between other text (`P1: 187.4 bar`), and the delimiter is not used.
    checksum: a line ends in `*` and two hexadecimal digits, the XOR of what stands before it
    (after a leading `$`, where there is one).
    """

    cells: int
    values: tuple[int, ...]
    time: int | None = None
    time_unit_s: float = 1e-3
    delimiter: str = ","
    decimal_comma: bool = False
    mixed: bool = False
    checksum: bool = False
    max_line: int = 1024

    def __post_init__(self) -> None:
        wanted = (*self.values, *(() if self.time is None else (self.time,)))
        if not self.values or len(set(wanted)) != len(wanted):
            raise ValueError("every value and the time need a cell of their own")
        if any(not 0 <= cell < self.cells for cell in wanted):
            raise ValueError(f"a line has {self.cells} cells; one beyond them was asked for")
        if self.decimal_comma and self.delimiter == "," and not self.mixed:
            raise ValueError("a comma cannot both separate cells and stand before the decimals")


@dataclass(frozen=True, slots=True)
class BadLine:
    """A line that gave no row. `after`: how many rows of the same decoding came before it."""

    kind: str
    raw: bytes
    after: int


@dataclass(frozen=True, slots=True, eq=False)
class Decoded:
    """What some bytes held. values: shape (rows, cells wanted), NaN where missing.

    times: shape (rows,), s, the device's own, or None where the format has none.
    """

    values: F64
    times: F64 | None
    bad: tuple[BadLine, ...]


class LineDecoder:
    """Incremental decoder: feed it bytes as they come, cut anywhere. Memory is bounded."""

    def __init__(self, layout: LineFormat) -> None:
        self.layout = layout
        self._held = b""
        self._started = False
        self._skipping = False
        self._is_value = [cell in layout.values for cell in range(layout.cells)]
        in_order = sorted(layout.values)
        self._order = None if tuple(in_order) == layout.values else [
            in_order.index(cell) for cell in layout.values
        ]  # fmt: skip

    def feed(self, data: bytes) -> Decoded:
        """The rows and the unreadable lines that these bytes complete."""
        if not data:
            return self._decode([], [])
        pieces = _LINE_END.split(self._held + data)
        self._held = pieces.pop()
        bad: list[BadLine] = []
        if pieces and not self._started:
            first = pieces.pop(0)
            self._started = True
            if first and not self._skipping:
                bad.append(BadLine(FIRST_LINE, first[: self.layout.max_line], 0))
            self._skipping = False
        elif pieces and self._skipping:
            pieces.pop(0)  # the rest of a line that was too long and is counted already
            self._skipping = False
        if len(self._held) > self.layout.max_line:
            if not self._skipping:
                kind = TOO_LONG if self._started else FIRST_LINE
                bad.append(BadLine(kind, self._held[: self.layout.max_line], len(pieces)))
            self._held, self._skipping = b"", True
        elif self._skipping:
            self._held = b""
        return self._decode(pieces, bad)

    def finish(self) -> Decoded:
        """What was held when the line went silent for good: half a line is never a row."""
        held, self._held = self._held.strip(), b""
        kind = CUT_OFF if self._started else FIRST_LINE
        self._started, self._skipping = False, False
        return self._decode([], [BadLine(kind, held, 0)] if held else [])

    def _decode(self, lines: Sequence[bytes], bad: list[BadLine]) -> Decoded:
        rows: list[list[float]] = []
        times: list[float] = []
        found: list[BadLine] = [b for b in bad if b.after == 0]
        for line in lines:
            if not line or line.isspace():
                continue
            kind = self._read(line, rows, times)
            if kind:
                found.append(BadLine(kind, line[: self.layout.max_line], len(rows)))
        found.extend(BadLine(b.kind, b.raw, len(rows)) for b in bad if b.after)
        values = np.array(rows, dtype=np.float64).reshape(len(rows), len(self.layout.values))
        values[~np.isfinite(values)] = np.nan
        if self._order is not None:
            values = values[:, self._order]
        has_time = self.layout.time is not None
        return Decoded(values, np.array(times, dtype=np.float64) if has_time else None, (*found,))

    def _read(self, line: bytes, rows: list[list[float]], times: list[float]) -> str:
        """Add the line's row, or say what kind of unreadable line it is."""
        layout = self.layout
        if len(line) > layout.max_line:
            return TOO_LONG
        if not line.isascii() or _CONTROL.search(line):
            return UNDECODABLE
        if layout.checksum:
            line, star, digits = line.strip().partition(b"*")
            line = line.removeprefix(b"$")
            if not star or len(digits) != 2 or digits.upper() != b"%02X" % xor8(line):
                return CHECKSUM
        if layout.mixed:
            cells = _NUMBER_IN_TEXT.findall(
                line.replace(b",", b".") if layout.decimal_comma else line
            )
        else:
            cells = line.split(layout.delimiter.encode() if layout.delimiter else None)
            if len(cells) == layout.cells + 1 and not cells[-1].strip():
                cells.pop()
        if len(cells) != layout.cells:
            return WRONG_CELLS if any(map(self._is_number, cells)) else TEXT
        if layout.decimal_comma:
            cells = [cell.replace(b",", b".") for cell in cells]
        time = 0.0
        if layout.time is not None:
            if not self._is_number(cells[layout.time]):
                return NOT_A_NUMBER if any(map(self._is_number, cells)) else TEXT
            time = float(cells[layout.time]) * layout.time_unit_s
        wanted = list(compress(cells, self._is_value))
        try:
            if b"_" in line:
                raise ValueError("Python would read 1_0 as ten")
            row = list(map(float, wanted))
        except ValueError:
            row = []
            for cell in wanted:
                if _NUMBER.fullmatch(word := cell.strip()):
                    row.append(float(word))
                elif word.lower() in MISSING_WORDS:
                    row.append(float("nan"))
                else:
                    return NOT_A_NUMBER if any(map(self._is_number, cells)) else TEXT
        rows.append(row)
        if layout.time is not None:
            times.append(time)
        return ""

    @staticmethod
    def _is_number(cell: bytes) -> bool:
        return _NUMBER.fullmatch(cell.strip()) is not None


def encode_line(layout: LineFormat, values: Sequence[float], time_s: float = 0.0) -> bytes:
    """The line that a board would print for these values, with CR LF. NaN becomes `nan`.

    Cells that the layout does not use hold `0`. Numbers have up to ten significant digits; the
    device's time is a whole number of its unit.
    """
    cells = ["0"] * layout.cells
    for cell, value in zip(layout.values, values, strict=True):
        cells[cell] = f"{value:.10g}"
    if layout.time is not None:
        cells[layout.time] = f"{round(time_s / layout.time_unit_s)}"
        if layout.time_unit_s >= 1:
            cells[layout.time] = f"{time_s / layout.time_unit_s:.6f}"
    if layout.decimal_comma:
        cells = [cell.replace(".", ",") for cell in cells]
    body = (" " if layout.mixed else layout.delimiter or " ").join(cells).encode()
    if layout.checksum:
        body = b"$%s*%02X" % (body, xor8(body))
    return body + b"\r\n"
