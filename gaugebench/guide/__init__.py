"""The user's guide: pages in Markdown, pictures in SVG, and where each error is explained."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

FOLDER = Path(__file__).parent
"""Where pages and pictures lie; links within a page are relative to it."""
START = "index.md"
PAGES = (
    START,
    "visit.md",
    "figures.md",
    "uncertainty.md",
    "kit.md",
    "records.md",
    "faults.md",
    "practice.md",
    "trouble.md",
    "cautions.md",
)
"""In the order in which they are listed."""

_HEADING = re.compile(r"^(#{1,6}) +(.+?)\s*$", re.MULTILINE)
_FENCED = re.compile(r"^```.*?^```", re.MULTILINE | re.DOTALL)


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading: its level (1 is the page's title), its words, and the anchor that links use."""

    level: int
    words: str
    anchor: str


@dataclass(frozen=True, slots=True)
class Place:
    """A place in the guide."""

    page: str
    anchor: str = ""

    def __str__(self) -> str:
        """As a link is written in a page, for example `trouble.md#the-kit-file`."""
        return f"{self.page}#{self.anchor}" if self.anchor else self.page

    @classmethod
    def parse(cls, link: str) -> Place:
        """From a link as written in a page."""
        page, _, anchor = link.partition("#")
        return cls(page, anchor)


def text(page: str) -> str:
    """The Markdown of a page. Raises `KeyError` where there is none of that name."""
    if page not in PAGES:
        raise KeyError(page)
    return (FOLDER / page).read_text(encoding="utf-8")


def anchor_of(words: str) -> str:
    """The anchor of a heading: lower case, words joined by hyphens, nothing else kept."""
    kept = re.sub(r"[^\w\s-]", "", words.lower())
    return re.sub(r"\s+", "-", kept.strip())


def headings(page: str) -> tuple[Heading, ...]:
    """The headings of a page, in order. Raises `KeyError`."""
    prose = _FENCED.sub("", text(page))
    return tuple(
        Heading(len(marks), words, anchor_of(words)) for marks, words in _HEADING.findall(prose)
    )


def title(page: str) -> str:
    """A page's title. Raises `KeyError`."""
    return headings(page)[0].words


def heading_at(place: Place) -> str:
    """The words of the heading that a place points to; the title where it names no anchor.

    Raises `KeyError` where there is no such page or heading.
    """
    for heading in headings(place.page):
        if place.anchor in ("", heading.anchor):
            return heading.words
    raise KeyError(str(place))
