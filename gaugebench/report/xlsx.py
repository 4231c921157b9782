"""The report as a workbook: page one on the first sheet, every table on a sheet of its own."""

from __future__ import annotations

import io
import re
from datetime import datetime
from typing import Any

from gaugebench.report.blocks import (
    Block,
    Chart,
    Data,
    Heading,
    PageEnd,
    Report,
    Signatures,
    Table,
    Text,
    Tone,
)

_COLOURS = {Tone.GOOD: "#0b5d3b", Tone.BAD: "#9c1c1c", Tone.OPEN: "#7a4a00"}


def xlsx(report: Report) -> bytes:
    """The workbook. Identical reports give identical bytes: the file itself holds no date.

    The tables are text, so that a reading keeps its uncertainty and its unit; the sheet “Figures”
    holds the same as numbers. Nothing is run as a formula.
    """
    import xlsxwriter  # only where a workbook is asked for

    out = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(out, options) as book:
        book.set_properties({"title": report.title, "created": datetime(2000, 1, 1)})  # noqa: DTZ001
        _Book(book).write(report)
    return out.getvalue()


class _Book:
    def __init__(self, book: Any) -> None:
        self.book = book
        self.bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
        self.big = book.add_format({"bold": True, "font_size": 14})
        self.plain = book.add_format({"text_wrap": True, "valign": "top"})
        self.tones = {
            tone: book.add_format(
                {"bold": True, "font_color": colour, "text_wrap": True, "valign": "top"}
            )
            for tone, colour in _COLOURS.items()
        }
        self.names: set[str] = set()

    def write(self, report: Report) -> None:
        front = self._sheet("Report", (26, 90))
        at = 0
        if report.banner:
            front.write_string(at, 0, report.banner, self.tones[Tone.BAD])
            at += 1
        front.write_string(at, 0, report.title, self.big)
        for name, value in report.particulars:
            at += 1
            front.write_string(at, 0, name, self.bold)
            front.write_string(at, 1, value, self.plain)
        for block in report.blocks:
            at = self._block(front, at + 1, block)
        front.write_string(at + 2, 0, report.footer, self.plain)

    def _block(self, front: Any, at: int, block: Block) -> int:
        match block:
            case Heading():
                front.write_string(at + 1, 0, block.text, self.bold)
                return at + 1
            case Text():
                front.write_string(at, 1, block.text, self.tones.get(block.tone, self.plain))
                return at
            case Table():
                name = self._table(block)
                front.write_string(at, 1, f"See the sheet “{name}”.", self.plain)
                return at
            case Chart():
                front.write_string(at, 1, f"{block.title}: drawn in the PDF and the HTML.")
                return at
            case Signatures():
                for capacity, name, when in block.lines:
                    front.write_string(at, 0, capacity, self.bold)
                    front.write_string(at, 1, f"{name} {when}".strip(), self.plain)
                    at += 1
                return at
            case PageEnd():
                return at
            case Data():
                self._data(block)
                return at - 1

    def _data(self, data: Data) -> None:
        sheet = self._sheet(self._name(data.name), (34.0, *[14.0] * (len(data.head) - 1)))
        for column, text in enumerate(data.head):
            sheet.write_string(0, column, text, self.bold)
        for n, row in enumerate(data.rows, 1):
            for column, value in enumerate(row):
                if isinstance(value, str):
                    sheet.write_string(n, column, value, self.plain)
                elif value is not None:
                    sheet.write_number(n, column, value)
        sheet.freeze_panes(1, 1)

    def _table(self, table: Table) -> str:
        shares = table.shares or (1.0,) * len(table.head)
        total = sum(shares)
        name = self._name(table.name)
        sheet = self._sheet(name, tuple(max(8.0, 140 * s / total) for s in shares))
        for column, text in enumerate(table.head):
            sheet.write_string(0, column, text, self.bold)
        for n, row in enumerate(table.rows, 1):
            for column, cell in enumerate(row):
                sheet.write_string(n, column, cell.text, self.tones.get(cell.tone, self.plain))
        sheet.freeze_panes(1, 0)
        return name

    def _sheet(self, name: str, widths: tuple[float, ...]) -> Any:
        self.names.add(name.lower())
        sheet = self.book.add_worksheet(name)
        for column, width in enumerate(widths):
            sheet.set_column(column, column, width)
        return sheet

    def _name(self, wanted: str) -> str:
        """A name that a sheet may have: 31 characters, none of []:*?/\\, no two alike."""
        base = re.sub(r"[\[\]:*?/\\]", "-", wanted)[:31].strip("'") or "Table"
        name, n = base, 1
        while name.lower() in self.names:
            n += 1
            name = f"{base[: 31 - len(str(n)) - 1]} {n}"
        return name
