"""The German guide keeps step with the English one, and calls things as the German desk does."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import pytest

from gaugebench import desk, guide
from gaugebench.desk.hookup.stages import Stage
from gaugebench.desk.words import catalogue
from gaugebench.guide.links import PLACES

FOLDER = guide.FOLDER / "de"
CODE = re.compile(r"^```.*?^```|(?:^ {4}\S[^\n]*\n)+", re.MULTILINE | re.DOTALL)
SPAN = re.compile(r"`([^`]+)`")
LINK = re.compile(r"(!?)\[([^\]]+)\]\(([^)]+)\)")
BOLD = re.compile(r"\*\*([^*]+)\*\*")
NAME = re.compile(r"(?<!\*)\*[^*]+\*(?!\*)")
NUMBER = re.compile(r"\d+(?:[.,]\d+)*")
COMMENT = re.compile(r"\s+#.*$", re.MULTILINE)
KEYS = re.compile(r"\s*\([^)]*\)$|…$|&")


@dataclass(frozen=True, slots=True)
class Part:
    """What a heading and its text hold that both languages must have alike."""

    level: int
    code: tuple[str, ...]
    spans: Counter[str]
    links: Counter[tuple[str, str]]
    tables: tuple[tuple[int, ...], ...]
    numbers: Counter[str]
    items: int
    bold: int


def parts(text: str) -> list[Part]:
    return [part(piece) for piece in re.split(r"^(?=#)", CODE.sub(_kept, text), flags=re.M)[1:]]


_blocks: dict[str, str] = {}


def _kept(found: re.Match[str]) -> str:
    """A code block as one token, so that a comment in it is not taken for a heading."""
    token = f"@{len(_blocks)}@\n"
    _blocks[token.strip()] = COMMENT.sub("", found.group()).rstrip()
    return token


def part(piece: str) -> Part:
    code = tuple(_blocks[token] for token in re.findall(r"^@\d+@$", piece, re.MULTILINE))
    piece = re.sub(r"^@\d+@$", "", piece, flags=re.MULTILINE)
    prose = LINK.sub(r"\2", SPAN.sub("", piece))
    rows = [
        tuple(row.replace(r"\|", "").count("|") for row in table.strip().splitlines())
        for table in re.findall(r"(?:^\|.*\n?)+", piece, re.MULTILINE)
    ]
    return Part(
        level=len(piece) - len(piece.lstrip("#")),
        code=code,
        spans=Counter(" ".join(span.split()) for span in SPAN.findall(piece)),
        links=Counter((picture, link) for picture, _, link in LINK.findall(piece)),
        tables=tuple(rows),
        numbers=Counter(n.replace(",", ".") for n in NUMBER.findall(NAME.sub("", prose))),
        items=len(re.findall(r"^(?:-|\d+\.) ", piece, re.MULTILINE)),
        bold=len(BOLD.findall(prose)),
    )


def said(text: str) -> str:
    """A name without its key, dots and capitals."""
    return KEYS.sub("", " ".join(text.split())).casefold().rstrip(".:")


def test_every_page_has_its_german() -> None:
    assert {path.name for path in FOLDER.glob("*.md")} == set(guide.PAGES)


@pytest.mark.parametrize("page", guide.PAGES)
def test_a_page_has_the_same_parts_in_german(page: str) -> None:
    english, german = parts(guide.text(page)), parts(guide.text(page, "de"))
    assert guide.is_spoken(page, "de")
    assert len(german) == len(english)
    for ours, theirs, heading in zip(english, german, guide.headings(page, "de"), strict=True):
        assert theirs == ours, heading.words


@pytest.mark.parametrize("page", guide.PAGES)
def test_a_page_is_german_in_its_words_and_signs(page: str) -> None:
    prose = SPAN.sub("", CODE.sub("", guide.text(page, "de")))
    assert not re.findall(r"\d\.\d", prose)
    assert not re.findall(r"\b(?:the|and|is|with|of)\b", LINK.sub(r"\2", prose))
    assert prose.count("„") == prose.count("“")
    assert not re.findall('[”"]', prose)
    english = {heading.words for heading in guide.headings(page)}
    assert not english & {heading.words for heading in guide.headings(page, "de")}
    anchors = [heading.words for heading in guide.headings(page, "de")]
    assert len(set(anchors)) == len(anchors)


@pytest.mark.parametrize("page", guide.PAGES)
def test_a_button_has_the_name_that_the_german_desk_shows(page: str) -> None:
    german: dict[str, set[str]] = {}
    for text, words in catalogue("de").items():
        german.setdefault(said(text), set()).add(said(words))
    named = [said(words) for words in BOLD.findall(guide.text(page))]
    shown = [said(words) for words in BOLD.findall(guide.text(page, "de"))]
    wanted = [german[name] for name in named if name in german]
    assert len(wanted) == sum(any(words in names for names in wanted) for words in shown)
    for names in wanted:
        assert names & set(shown), f"none of {names} is named"


def test_every_place_that_an_error_leads_to_is_there_in_german() -> None:
    for place in PLACES.values():
        heading = guide.heading_at(place, "de")
        assert heading != guide.heading_at(place)
        assert re.search(rf"^#+ {re.escape(heading)}$", guide.text(place.page, "de"), re.MULTILINE)


def test_the_steps_of_a_hook_up_are_those_of_the_german_desk() -> None:
    words = catalogue("de")
    rows = re.findall(r"^\| (\d .+?) \|", guide.text("visit.md", "de"), re.MULTILINE)
    assert rows == [f"{number} {words[stage.value]}" for number, stage in enumerate(Stage, 1)]


def test_a_fault_of_the_practice_machine_is_called_as_the_german_desk_calls_it() -> None:
    row = re.compile(r"^\| `([^`]+)` \| (.+?) \|", re.MULTILINE)
    words, german = catalogue("de"), dict(row.findall(guide.text("practice.md", "de")))
    english = dict(row.findall(guide.text("practice.md")))
    assert len(english) > 15
    assert german == {fault: words[what] for fault, what in english.items()}


def test_a_page_without_german_is_english_as_a_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guide, "FOLDER", tmp_path)
    (tmp_path / "kit.md").write_text("# A kit\n", encoding="utf-8")
    assert not guide.is_spoken("kit.md", "de")
    assert guide.title("kit.md", "de") == "A kit"
    (tmp_path / "de").mkdir()
    (tmp_path / "de" / "kit.md").write_text("# Ein Messkoffer\n## Mehr\n", encoding="utf-8")
    with pytest.raises(ValueError, match="argument"):
        guide.title("kit.md", "de")


def test_what_points_to_a_page_names_its_german_title() -> None:
    pages = Path(desk.__file__).parent / "catalogues" / "de"
    texts = tomllib.loads((pages / "options.toml").read_text(encoding="utf-8"))["words"]
    (pointed,) = [words for text, words in texts.items() if "Building a kit" in text]
    assert guide.title("kit.md", "de") in pointed
