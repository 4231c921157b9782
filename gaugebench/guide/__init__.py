"""The user's guide: pages in Markdown, pictures in SVG, and where each error is explained.

The pages are English; a folder beside them, named by a language's code, holds their translations
under the same names, and those pictures that carry words. A page without one is shown in English,
as a whole. Links keep the English anchors, so that a place is the same in every language.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

FOLDER = Path(__file__).parent
"""Where pages and pictures lie; links within a page are relative to it."""
ENGLISH = "en"
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


def file_of(name: str, language: str = ENGLISH) -> Path:
    """The file of a page or picture in a language, or the English one where that has none."""
    own = FOLDER / language / name
    return own if own.is_file() else FOLDER / name


def is_spoken(page: str, language: str) -> bool:
    """Whether a page is there in a language. Raises `KeyError` for no such page."""
    if page not in PAGES:
        raise KeyError(page)
    return language == ENGLISH or file_of(page, language) != FOLDER / page


def text(page: str, language: str = ENGLISH) -> str:
    """The Markdown of a page, in English where the language has none. Raises `KeyError`."""
    if page not in PAGES:
        raise KeyError(page)
    return file_of(page, language).read_text(encoding="utf-8")


def anchor_of(words: str) -> str:
    """The anchor of a heading: lower case, words joined by hyphens, nothing else kept."""
    kept = re.sub(r"[^\w\s-]", "", words.lower())
    return re.sub(r"\s+", "-", kept.strip())


def headings(page: str, language: str = ENGLISH) -> tuple[Heading, ...]:
    """The headings of a page, in order; anchors are those of the English page in any language.

    Raises `KeyError` for no such page, `ValueError` where a translation is out of step.
    """
    anchors = (anchor_of(words) for _, words in _headings(page, ENGLISH))
    return tuple(
        Heading(level, words, anchor)
        for (level, words), anchor in zip(_headings(page, language), anchors, strict=True)
    )


def _headings(page: str, language: str) -> list[tuple[int, str]]:
    prose = _FENCED.sub("", text(page, language))
    return [(len(marks), words) for marks, words in _HEADING.findall(prose)]


def title(page: str, language: str = ENGLISH) -> str:
    """A page's title. Raises `KeyError`."""
    return headings(page, language)[0].words


def heading_at(place: Place, language: str = ENGLISH) -> str:
    """The words of the heading that a place points to; the title where it names no anchor.

    Raises `KeyError` where there is no such page or heading.
    """
    for heading in headings(place.page, language):
        if place.anchor in ("", heading.anchor):
            return heading.words
    raise KeyError(str(place))
