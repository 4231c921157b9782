"""What a report is made of, before it is a page: the same blocks make PDF, HTML and XLSX.

Its texts are English and remember how they are said in another language: sayings, numbers, plain
texts that a catalogue knows, and what somebody wrote (`Written`), which is said in none.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from gaugebench.model.arrays import F64
from gaugebench.report.speech import ENGLISH, Speech


class Tone(StrEnum):
    """How a piece of text is meant; never by colour alone, since the words say it too."""

    PLAIN = "plain"
    GOOD = "good"
    BAD = "bad"
    OPEN = "open"
    SMALL = "small"
    WARNING = "warning"


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading. level: 0 is the report's title, 1 begins a part, 2 a section."""

    text: str
    level: int = 2


@dataclass(frozen=True, slots=True)
class Pairs:
    """Names and what they are: the particulars."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Text:
    """A paragraph."""

    text: str
    tone: Tone = Tone.PLAIN


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a table."""

    text: str
    tone: Tone = Tone.PLAIN


@dataclass(frozen=True, slots=True)
class Table:
    """A table. shares: relative widths of its columns. name: of its sheet in a workbook."""

    name: str
    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    shares: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """One line of a chart: pieces without gaps, x in s, y in the chart's unit. style: 0, 1, …"""

    label: str
    pieces: tuple[tuple[F64, F64], ...]
    style: int = 0


@dataclass(frozen=True, slots=True)
class Flag:
    """A mark in a chart."""

    x: float
    label: str


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch in which something was read; its letter leads to the table below."""

    start_s: float
    end_s: float
    label: str


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """Lines over time with marks, and letters over what was read. x, y: the ends of its axes.

    limits: of a band, drawn across.
    """

    title: str
    lines: tuple[Line, ...]
    x_label: str
    y_label: str
    x: tuple[float, float]
    y: tuple[float, float]
    flags: tuple[Flag, ...] = ()
    spans: tuple[Span, ...] = ()
    limits: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Signatures:
    """Lines to sign on: capacity, the name signed already or "", and when."""

    lines: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class PageEnd:
    """What follows begins on a new page."""


@dataclass(frozen=True, slots=True)
class Data:
    """Plain numbers for a workbook; a page leaves them out. None is an empty cell."""

    name: str
    head: tuple[str, ...]
    rows: tuple[tuple[str | float | None, ...], ...]


Block = Heading | Pairs | Text | Table | Chart | Signatures | PageEnd | Data


@dataclass(frozen=True, slots=True)
class Report:
    """A whole report. title: of the file. footer, banner: on every page; banner may be "".

    speech: the language that it is in, for what a kind of page adds of its own.
    """

    title: str
    blocks: tuple[Block, ...]
    footer: str
    banner: str = ""
    speech: Speech = ENGLISH


def row(*cells: str | Cell) -> tuple[Cell, ...]:
    """A row of plain cells."""
    return tuple(c if isinstance(c, Cell) else Cell(c) for c in cells)


def clusters(flags: tuple[Flag, ...], apart: float) -> tuple[tuple[float, str], ...]:
    """Where labels go: flags nearer than `apart` (in x) share one, `3` or `3–5`."""
    groups: list[list[Flag]] = []
    for flag in sorted(flags, key=lambda f: f.x):
        if groups and flag.x - groups[-1][0].x < apart:
            groups[-1].append(flag)
        else:
            groups.append([flag])
    return tuple(
        (g[0].x, g[0].label if len(g) == 1 else f"{g[0].label}–{g[-1].label}") for g in groups
    )
