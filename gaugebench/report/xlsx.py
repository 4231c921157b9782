"""The report as a workbook: page one on the first sheet, every table on a sheet of its own."""

from __future__ import annotations

import io
import re
from datetime import datetime
from typing import Any

from gaugebench.model.saying import Saying, Written
from gaugebench.report.blocks import (
    Chart,
    Data,
    Heading,
    Pairs,
    Report,
    Signatures,
    Table,
    Text,
    Tone,
)
from gaugebench.report.looks import TONES
from gaugebench.report.speech import Speech
from gaugebench.report.writer import Writer


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
        _Book(book, report.speech).fill(report)
    return out.getvalue()


class _Book(Writer[None]):
    """at: the next row of the first sheet."""

    def __init__(self, book: Any, speech: Speech) -> None:
        self.book = book
        self.said = speech.said
        self.bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
        self.big = book.add_format({"bold": True, "font_size": 14})
        self.plain = book.add_format({"text_wrap": True, "valign": "top"})
        self.tones = {
            tone: book.add_format(
                {"bold": True, "font_color": colour, "text_wrap": True, "valign": "top"}
            )
            for tone, colour in TONES.items()
        }
        self.names: set[str] = set()
        self.front = self._sheet(self.said(Saying("Report")), (26, 90))
        self.at = 0

    def fill(self, report: Report) -> None:
        """The whole workbook."""
        if report.banner:
            self._put(0, report.banner, self.tones[Tone.BAD])
        self.write(report.blocks)
        self.at += 1
        self._put(0, report.footer, self.plain)

    def heading(self, block: Heading) -> None:
        self.at += block.level > 0
        self._put(0, block.text, self.big if block.level == 0 else self.bold)

    def pairs(self, block: Pairs) -> None:
        for name, value in block.rows:
            self.front.write_string(self.at, 0, name, self.bold)
            self._put(1, value, self.plain)

    def text(self, block: Text) -> None:
        self._put(1, block.text, self.tones.get(block.tone, self.plain))

    def chart(self, block: Chart) -> None:
        drawn = Saying("{title}: drawn in the PDF and the HTML.", title=Written(block.title))
        self._put(1, self.said(drawn), self.plain)

    def signatures(self, block: Signatures) -> None:
        for capacity, name, when in block.lines:
            self.front.write_string(self.at, 0, capacity, self.bold)
            self._put(1, f"{name} {when}".strip(), self.plain)

    def page_end(self) -> None:
        """A sheet has no pages."""

    def _put(self, column: int, text: str, look: Any) -> None:
        """A text in the next row."""
        self.front.write_string(self.at, column, text, look)
        self.at += 1

    def data(self, block: Data) -> None:
        sheet = self._sheet(self._name(block.name), (34.0, *[14.0] * (len(block.head) - 1)))
        for column, text in enumerate(block.head):
            sheet.write_string(0, column, text, self.bold)
        for n, row in enumerate(block.rows, 1):
            for column, value in enumerate(row):
                if isinstance(value, str):
                    sheet.write_string(n, column, value, self.plain)
                elif value is not None:
                    sheet.write_number(n, column, value)
        sheet.freeze_panes(1, 1)

    def table(self, block: Table) -> None:
        shares = block.shares or (1.0,) * len(block.head)
        total = sum(shares)
        name = self._name(block.name)
        sheet = self._sheet(name, tuple(max(8.0, 140 * s / total) for s in shares))
        for column, text in enumerate(block.head):
            sheet.write_string(0, column, text, self.bold)
        for n, row in enumerate(block.rows, 1):
            for column, cell in enumerate(row):
                sheet.write_string(n, column, cell.text, self.tones.get(cell.tone, self.plain))
        sheet.freeze_panes(1, 0)
        see = Saying("See the sheet “{name}”.", name=Written(name))
        self._put(1, self.said(see), self.plain)

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
