"""How a report looks, whatever it is written as: colours of words, colour and dashes of lines."""

from __future__ import annotations

from datetime import datetime

from gaugebench.model.saying import Written
from gaugebench.report.blocks import Tone

INK = "#1a1a1a"
GRID = "#c4cbd1"
RULE = "#9aa4ad"
HEAD = "#e8ebee"
MARK = "#888888"
TONES = {
    Tone.GOOD: "#0b5d3b",
    Tone.BAD: "#9c1c1c",
    Tone.OPEN: "#7a4a00",
    Tone.WARNING: "#9c1c1c",
}
"""Tones that have a colour of their own; the words say the same without it."""
STRONG = frozenset({Tone.GOOD, Tone.BAD, Tone.OPEN, Tone.WARNING})
"""Tones that are written in bold."""
LINES: tuple[tuple[str, tuple[float, ...]], ...] = (
    ("#0072b2", ()),
    ("#d55e00", (4, 2)),
    ("#333333", (1, 2)),
    ("#009e73", (6, 2, 1, 2)),
    ("#cc79a7", (2, 2)),
)
"""Colour and dashes of each line: told apart in grey as well (colours after Okabe and Ito)."""


def line_look(style: int) -> tuple[str, tuple[float, ...]]:
    """Colour and dashes of a line; styles repeat."""
    return LINES[style % len(LINES)]


def day_and_time(at: datetime) -> str:
    """An instant, year first as ISO 8601 has it: the same in every language."""
    return Written(f"{at:%Y-%m-%d %H:%M}")


def time_of_day(at: datetime) -> str:
    """Hours and minutes."""
    return Written(f"{at:%H:%M}")
