"""The report as PDF: selectable text, embedded fonts, vector traces, page numbers."""

from __future__ import annotations

import io
from collections.abc import Callable
from functools import cache
from importlib.resources import as_file, files
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib import colors
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepTogether,
    PageBreak,
    PageTemplate,
    Paragraph,
    Spacer,
    TableStyle,
)
from reportlab.platypus import Table as Grid

from gaugebench.model.saying import Saying
from gaugebench.report.blocks import (
    Cell,
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
from gaugebench.report.columns import fitted
from gaugebench.report.looks import HEAD, INK, RULE, STRONG, TONES
from gaugebench.report.pdfchart import ChartFlowable
from gaugebench.report.speech import Speech
from gaugebench.report.writer import Writer

PAPERS = {"A4": A4, "Letter": LETTER}
FONT, BOLD = "DejaVuSans", "DejaVuSans-Bold"
_MARGIN = 16 * mm
_INK = colors.HexColor(INK)
_TONES = {tone: colors.HexColor(colour) for tone, colour in TONES.items()}
_LEVELS = {0: 15.0, 1: 11.5, 2: 11.5, 3: 9.5}
"""Size of a heading of each level, points."""
_ROOM = {0: 0.0, 1: 84 * mm, 2: 84 * mm, 3: 32 * mm}
"""Room that a heading needs under it; with less it begins a new page."""
_LEAST_TABLE = 26 * mm
"""With less room than this a table begins on a new page, rather than with one row here."""
_LONGEST_WORD = 40 * mm
"""No column is widened for a longer word, such as a path."""
_LEFT_SIDE, _RIGHT_SIDE = 2.0, 3.0
"""Beside the text of a cell, points."""


def pdf(report: Report, paper: str = "A4") -> bytes:
    """The report's PDF. paper: `A4` or `Letter`. Raises `KeyError` for another paper.

    Identical reports give identical bytes: the file itself holds no date.
    """
    _fonts()
    width, height = PAPERS[paper]
    inner = width - 2 * _MARGIN
    out = io.BytesIO()
    document = BaseDocTemplate(
        out,
        pagesize=(width, height),
        title=report.title,
        author="",
        lang=report.speech.language,
        invariant=True,
    )
    frame = Frame(
        _MARGIN, _MARGIN + 4 * mm, inner, height - 2 * _MARGIN - 10 * mm, 0, 0, 0, 0, id="body"
    )
    document.addPageTemplates([PageTemplate(id="page", frames=[frame])])
    story = [part for parts in _Pages(inner, report.speech).write(report.blocks) for part in parts]
    document.build(story, canvasmaker=_numbered(report, width, height))
    return out.getvalue()


@cache
def _fonts() -> None:
    for name in (FONT, BOLD):
        with as_file(files("gaugebench.report").joinpath(f"fonts/{name}.ttf")) as path:
            pdfmetrics.registerFont(TTFont(name, str(path)))


@cache
def _style(size: float, *, bold: bool = False, tone: Tone = Tone.PLAIN, after: float = 2) -> Any:
    return ParagraphStyle(
        f"{size}-{bold}-{tone}-{after}",
        fontName=BOLD if bold else FONT,
        fontSize=size,
        leading=size * 1.32,
        textColor=_TONES.get(tone, _INK),
        spaceAfter=after,
        splitLongWords=True,
    )


class _Pages(Writer[list[Flowable]]):
    def __init__(self, width: float, speech: Speech) -> None:
        self.width = width
        self.speech = speech

    def heading(self, block: Heading) -> list[Flowable]:
        style = _style(_LEVELS[block.level], bold=True, after=6 if block.level == 0 else 4)
        heading = Paragraph(escape(block.text), style)
        if block.level == 0:
            return [heading]
        return [CondPageBreak(_ROOM[block.level]), Spacer(0, 3 * mm), heading]

    def pairs(self, block: Pairs) -> list[Flowable]:
        cells = [
            [Paragraph(escape(name), _style(8)), Paragraph(escape(value), _style(8.5, bold=True))]
            for name, value in block.rows
        ]
        half = (len(cells) + 1) // 2
        blank = [Paragraph("", _style(8))] * 2
        rows = [
            [*cells[n], *(cells[n + half] if n + half < len(cells) else blank)] for n in range(half)
        ]
        grid = Grid(rows, colWidths=[0.16 * self.width, 0.34 * self.width] * 2, splitInRow=1)
        grid.setStyle(TableStyle([*_PADDING, ("LINEABOVE", (0, 0), (-1, 0), 0.6, _INK),
                                  ("LINEBELOW", (0, -1), (-1, -1), 0.6, _INK)]))  # fmt: skip
        return [grid, Spacer(0, 3 * mm)]

    def text(self, block: Text) -> list[Flowable]:
        size = 7.5 if block.tone is Tone.SMALL else 9
        bold = block.tone in {Tone.BAD, Tone.WARNING}
        return [Paragraph(escape(block.text), _style(size, bold=bold, tone=block.tone, after=3))]

    def table(self, block: Table) -> list[Flowable]:
        return [CondPageBreak(_LEAST_TABLE), _table(block, self.width), Spacer(0, 2 * mm)]

    def chart(self, block: Chart) -> list[Flowable]:
        return [
            KeepTogether([ChartFlowable(block, self.speech, self.width, FONT), Spacer(0, 2 * mm)])
        ]

    def signatures(self, block: Signatures) -> list[Flowable]:
        return [KeepTogether([_signatures(block, self.width)])]

    def page_end(self) -> list[Flowable]:
        return [PageBreak()]

    def data(self, block: Data) -> list[Flowable]:
        del block  # for a workbook; a page has the same in its tables
        return []


_PADDING: list[tuple[Any, ...]] = [
    ("FONTNAME", (0, 0), (-1, -1), FONT),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), _LEFT_SIDE),
    ("RIGHTPADDING", (0, 0), (-1, -1), _RIGHT_SIDE),
    ("TOPPADDING", (0, 0), (-1, -1), 1.5),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
]


def _table(table: Table, width: float) -> Grid:
    shares = table.shares or (1.0,) * len(table.head)
    styles = [_style(7.5, bold=True, after=0)] * len(shares)
    least = [_longest_word(text, style) for text, style in zip(table.head, styles, strict=True)]
    for row in table.rows:
        words = (_longest_word(cell.text, _cell_style(cell)) for cell in row)
        least = [max(pair) for pair in zip(least, words, strict=True)]
    widths = fitted(shares, least, width)
    head = [Paragraph(escape(text), styles[0]) for text in table.head]
    rows = [[Paragraph(escape(c.text), _cell_style(c)) for c in row] for row in table.rows]
    # A row may be cut where it alone is longer than a page.
    grid = Grid([head, *rows], colWidths=widths, repeatRows=1, splitInRow=1)
    grid.setStyle(
        TableStyle(
            [
                *_PADDING,
                ("BACKGROUND", (0, 0), (-1, 0), colors.HexColor(HEAD)),
                ("LINEBELOW", (0, 0), (-1, -1), 0.3, colors.HexColor(RULE)),
            ]
        )
    )
    return grid


def _cell_style(cell: Cell) -> Any:
    size = 6.5 if cell.tone is Tone.SMALL else 7.5
    return _style(size, bold=cell.tone in STRONG, tone=cell.tone, after=0)


def _longest_word(text: str, style: Any) -> float:
    """How wide a column must be for no word of a cell to be cut; very long ones are."""
    widths = (pdfmetrics.stringWidth(w, style.fontName, style.fontSize) for w in text.split())
    return min(max(widths, default=0.0), _LONGEST_WORD) + _LEFT_SIDE + _RIGHT_SIDE + 1


def _signatures(block: Signatures, width: float) -> Grid:
    rows = [
        [
            Paragraph(escape(f"{capacity}:"), _style(8.5)),
            Paragraph(escape(name), _style(9, bold=True)),
            Paragraph(escape(when), _style(8.5)),
        ]
        for capacity, name, when in block.lines
    ]
    grid = Grid(rows, colWidths=[0.28 * width, 0.46 * width, 0.26 * width], rowHeights=9 * mm)
    grid.setStyle(
        TableStyle(
            [
                ("FONTNAME", (0, 0), (-1, -1), FONT),
                ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
                ("LEFTPADDING", (0, 0), (-1, -1), 2),
                ("LINEBELOW", (1, 0), (2, -1), 0.4, _INK),
            ]
        )
    )
    return grid


def _numbered(report: Report, width: float, height: float) -> Callable[..., Canvas]:
    """A canvas that knows how many pages there are before it writes their numbers."""

    class Numbered(Canvas):
        def __init__(self, *arguments: Any, **more: Any) -> None:
            # Else every page names a font that is not embedded.
            more["initialFontName"] = FONT
            super().__init__(*arguments, **more)
            self._pages: list[dict[str, Any]] = []

        def showPage(self) -> None:  # noqa: N802 (the library's name)
            self._pages.append(dict(self.__dict__))
            # The library's own way of beginning the next page without writing this one.
            getattr(self, "_startPage")()  # noqa: B009

        def save(self) -> None:
            for number, page in enumerate(self._pages, 1):
                self.__dict__.update(page)
                self._furniture(number, len(self._pages))
                super().showPage()
            super().save()

        def _furniture(self, number: int, total: int) -> None:
            self.setFont(FONT, 7.5)
            self.setFillColor(_INK)
            self.drawString(_MARGIN, 11 * mm, report.footer)
            page = Saying("Page {number} of {total}", number=number, total=total)
            self.drawRightString(width - _MARGIN, 11 * mm, report.speech.said(page))
            if report.banner:
                self.setFont(BOLD, 9)
                self.setFillColor(_TONES[Tone.BAD])
                self.drawCentredString(width / 2, height - 11 * mm, report.banner)

    return Numbered
