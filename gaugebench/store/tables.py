"""Tables in a trace file: fixed columns, readable by `pandas.DataFrame(h5["…"][:])`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import h5py
import numpy as np

from gaugebench.store import layout
from gaugebench.store.h5text import attribute

Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Column:
    """One column. kind: `f8`, `i8` or `text`. units: written as an attribute `units_NAME`."""

    name: str
    kind: str
    units: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its place under the entry, and its columns."""

    name: str
    columns: tuple[Column, ...]


def _columns(text: str) -> tuple[Column, ...]:
    """Columns from `name:kind[:units]` words; the kind is `text` where none is given."""
    found: list[Column] = []
    for word in text.split():
        name, kind, units = (*word.split(":"), "", "")[:3]
        found.append(Column(name, kind or "text", units))
    return tuple(found)


STREAMS = Table("streams_table", _columns("name title rate_hz:f8:Hz time_estimated:i8 samples:i8"))
CHANNELS = Table(
    "channels",
    _columns(
        "stream name role group dataset dimension reference unit raw_unit has_raw:i8 wiring "
        "raw_factor:f8 raw_offset:f8 range_low:f8 range_high:f8 zero:f8 step:f8 control_port "
        "serial proof_pa:f8:Pa burst_pa:f8:Pa accuracy_pct_fs:f8:% calibrated_on curve supply "
        "excitation:f8:V sensitivity:f8:mV/V"
    ),
)
ADDED = frozenset({("channels", name) for name in ("curve", "supply", "excitation", "sensitivity")})
"""Columns that files of this format written before them do not have: (table, column)."""
PARTICULARS = Table(
    "particulars",
    _columns("machine serial hour_meter_h:f8:h site technician customer job notes"),
)
MARKS = Table("marks", _columns("key kind time_s:f8:s standing pump:i8 pressure_pa:f8:Pa note"))
GAPS = Table("gaps", _columns("stream start_s:f8:s end_s:f8:s lost:i8 why"))
REJECTS = Table("rejects", _columns("kind count:i8"))
REJECTED = Table("rejected", _columns("source kind count:i8 time_s:f8:s bytes_hex"))
SAID = Table("said", _columns("source time_s:f8:s alive:i8 text"))
CLOCK_FITS = Table(
    "clock_fits",
    _columns("stream segment:i8 time_s:f8:s offset_s:f8:s drift_ppm:f8 spread_s:f8:s"),
)
REMARKS = Table("remarks", _columns("text"))
FIGURES = Table(
    "figures",
    _columns(
        "loading:i8 pump:i8 figure value:f8 unit expanded:f8 from_s:f8:s to_s:f8:s samples:i8 "
        "cautions why_absent"
    ),
)
ALL = (
    STREAMS, CHANNELS, PARTICULARS, MARKS, GAPS, REJECTS, REJECTED, SAID, CLOCK_FITS, REMARKS,
    FIGURES,
)  # fmt: skip

_NONE = {"f8": np.nan, "i8": -1, "text": ""}


def write(entry: h5py.Group, table: Table, rows: Sequence[Row]) -> None:
    """Write a table; a missing or None cell is NaN, -1 or empty text by its column's kind.

    Beyond `layout.MOST_ROWS` rows are left out, and beyond `layout.LARGEST_TABLE` the longest
    texts are cut, so that what is written can be read.
    """
    cells = [
        [_NONE[c.kind] if row.get(c.name) is None else row[c.name] for c in table.columns]
        for row in rows[: layout.MOST_ROWS]
    ]
    encoded: list[tuple[Any, ...]] = [
        tuple(
            str(cell).encode("utf-8") if column.kind == "text" else cell
            for column, cell in zip(table.columns, line, strict=True)
        )
        for line in cells
    ]
    widths = _widths(table, encoded)
    kinds: list[tuple[str, Any]] = []
    for index, column in enumerate(table.columns):
        is_text = column.kind == "text"
        kind = h5py.string_dtype("utf-8", widths[index]) if is_text else f"<{column.kind}"
        kinds.append((column.name, kind))
    data = np.array(_cut(encoded, widths), dtype=np.dtype(kinds))
    made = entry.create_dataset(table.name, data=data, fletcher32=bool(len(rows)) or None)
    for column in table.columns:
        if column.units:
            attribute(made, f"units_{column.name}", column.units)


def _widths(table: Table, lines: Sequence[tuple[Any, ...]]) -> list[int]:
    """Bytes that each column takes, so that the whole stays within its bound."""
    widths = [
        max((len(line[index]) for line in lines), default=1) or 1 if column.kind == "text" else 8
        for index, column in enumerate(table.columns)
    ]
    while len(lines) * sum(widths) > layout.LARGEST_TABLE:
        widest = widths.index(max(widths))
        widths[widest] = max(1, widths[widest] // 2)
    return widths


def _cut(lines: Sequence[tuple[Any, ...]], widths: Sequence[int]) -> list[tuple[Any, ...]]:
    """Rows whose texts fit, cut between two characters."""
    return [
        tuple(
            cell[:width].decode("utf-8", "ignore").encode("utf-8")
            if isinstance(cell, bytes) and len(cell) > width
            else cell
            for cell, width in zip(line, widths, strict=True)
        )
        for line in lines
    ]


def rows_of(table: Table, data: np.ndarray[Any, Any]) -> list[dict[str, Any]]:
    """A table's rows as plain Python values: NaN and -1 in their column as None."""
    names = data.dtype.names or ()
    known = [c for c in table.columns if c.name in names]
    cells = [_plain(column, data[column.name].tolist()) for column in known]
    heads = [c.name for c in known]
    return [dict(zip(heads, line, strict=True)) for line in zip(*cells, strict=True)]


def _plain(column: Column, cells: list[Any]) -> list[Any]:
    if column.kind == "text":
        return [cell.decode("utf-8") for cell in cells]
    if column.kind == "f8":
        return [None if cell != cell else cell for cell in cells]
    return [None if cell == -1 else cell for cell in cells]
