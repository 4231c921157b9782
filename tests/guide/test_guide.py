"""The guide holds together: every link, picture, example and error leads somewhere."""

from __future__ import annotations

import re
import tomllib
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from gaugebench import desk, errors, guide
from gaugebench.desk.hookup.stages import Stage
from gaugebench.guide import Place
from gaugebench.guide.links import PLACES, place_of
from gaugebench.model.kit import kit_from
from gaugebench.model.role import Role
from gaugebench.procedure.ports import usual_band

LINK = re.compile(r"(!?)\[([^\]]+)\]\(([^)]+)\)")


def kinds(of: type[errors.GaugebenchError]) -> set[type[errors.GaugebenchError]]:
    ours = (below for below in of.__subclasses__() if below.__module__ == errors.__name__)
    return {of}.union(*map(kinds, ours))


def test_the_pages_listed_are_the_pages_there_are() -> None:
    assert {path.name for path in guide.FOLDER.glob("*.md")} == set(guide.PAGES)


def test_the_start_page_lists_every_other() -> None:
    linked = {Place.parse(link).page for _, _, link in LINK.findall(guide.text(guide.START))}
    assert set(guide.PAGES) - {guide.START} <= linked


@pytest.mark.parametrize("page", guide.PAGES)
def test_every_link_and_picture_of_a_page_is_there(page: str) -> None:
    for picture, words, link in LINK.findall(guide.text(page)):
        if picture:
            assert (guide.FOLDER / link).is_file(), link
            assert len(words) > 10, f"{link} needs words for who cannot see it"
        else:
            target = Place.parse(link)
            assert guide.heading_at(Place(target.page or page, target.anchor)), link


@pytest.mark.parametrize("page", guide.PAGES)
def test_a_page_has_one_title_and_no_anchor_twice(page: str) -> None:
    found = guide.headings(page)
    assert [h.level for h in found].count(1) == 1
    anchors = [h.anchor for h in found]
    assert len(set(anchors)) == len(anchors)


def test_every_picture_is_shown_somewhere_and_fetches_nothing() -> None:
    shown = {
        link
        for page in guide.PAGES
        for picture, _, link in LINK.findall(guide.text(page))
        if picture
    }
    pictures = sorted((guide.FOLDER / "pictures").iterdir())
    assert {f"pictures/{path.name}" for path in pictures} == shown
    for path in pictures:
        words = path.read_text(encoding="utf-8")
        assert ET.fromstring(words).tag.endswith("svg")  # noqa: S314  # our own file
        assert "http" not in words.replace("http://www.w3.org/2000/svg", "")
        assert "<script" not in words


def test_every_kind_of_error_has_a_place_that_exists() -> None:
    assert kinds(errors.GaugebenchError) == PLACES.keys()
    for place in PLACES.values():
        assert guide.heading_at(place)
    assert len(set(PLACES.values())) == len(PLACES)


def test_an_error_of_a_newer_kind_leads_to_the_kind_above_it() -> None:
    class Unplugged(errors.SourceLost):
        """Of a plugin."""

    assert place_of(Unplugged("gone")) == PLACES[errors.SourceLost]
    assert place_of(ZeroDivisionError("x")) == PLACES[errors.GaugebenchError]


def test_the_kit_file_of_the_guide_is_read_by_the_program() -> None:
    examples = re.findall(r"^```toml\n(.*?)^```", guide.text("kit.md"), re.MULTILINE | re.DOTALL)
    assert examples
    for example in examples:
        assert kit_from(tomllib.loads(example)).source


def test_every_role_that_the_guide_names_is_one() -> None:
    table = guide.text("kit.md").partition("## Which ranges")[0]
    roles = re.findall(r"`([a-z_0-9.]+)`", table)
    assert len(roles) > 10
    for role in roles:
        Role.parse(role)


def test_a_button_that_the_guide_names_is_on_the_desk() -> None:
    catalogues = Path(desk.__file__).parent / "catalogues" / "de"
    said = {
        text.replace("&", "").rstrip("…").casefold()
        for page in catalogues.glob("*.toml")
        for text in tomllib.loads(page.read_text(encoding="utf-8"))["words"]
    }
    named = {
        words
        for page in guide.PAGES
        for words in re.findall(r"\*\*([A-Z][^*]*)\*\*", " ".join(guide.text(page).split()))
        if not words.endswith(".")  # a sentence to be minded
    }
    assert len(named) > 20
    assert not {words for words in named if words.rstrip("…").casefold() not in said}


def test_the_steps_of_a_hook_up_are_those_of_the_desk() -> None:
    part = guide.text("visit.md").partition("## 2. Hook up")[2].partition("## 3.")[0]
    assert re.findall(r"^\| (\d .+?) \|", part, re.MULTILINE) == [
        f"{number} {stage.value}" for number, stage in enumerate(Stage, 1)
    ]


def test_the_wrong_port_check_is_that_of_the_program() -> None:
    part = guide.text("visit.md").partition("## 3.")[2].partition("## 4.")[0]
    for words, role in {
        "pump outlet": "pump1.main",
        "pilot": "pilot",
        "control": "pump1.control",
    }.items():
        band = usual_band(Role.parse(role))
        assert band is not None
        assert band.low is not None
        assert band.high is not None
        assert f"| {words} | {band.low / 1e5:.0f} to {band.high / 1e5:.0f} |" in part


def test_asking_for_what_is_not_there_says_so(tmp_path: Path) -> None:
    with pytest.raises(KeyError):
        guide.text("../errors.py")
    with pytest.raises(KeyError):
        guide.heading_at(Place("kit.md", "no-such-thing"))


@pytest.mark.parametrize(
    ("words", "anchor"),
    [
        ("The kit file", "the-kit-file"),
        ("t50 and settle", "t50-and-settle"),
        ("In the band, or not known", "in-the-band-or-not-known"),
        ("De-stroke onset", "de-stroke-onset"),
    ],
)
def test_anchors_are_those_that_common_markdown_viewers_make(words: str, anchor: str) -> None:
    assert guide.anchor_of(words) == anchor
