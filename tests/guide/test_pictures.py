"""The pictures of the figures can be drawn again from a run, and each is there in German."""

from __future__ import annotations

import importlib.util
import shutil
import sys
import xml.etree.ElementTree as ET
from pathlib import Path
from types import ModuleType

import pytest

from gaugebench import guide

SCRIPT = Path(__file__).parents[2] / "packaging" / "draw_guide.py"


@pytest.fixture
def drawing(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    spec = importlib.util.spec_from_file_location("draw_guide", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    monkeypatch.setitem(sys.modules, "draw_guide", module)
    spec.loader.exec_module(module)
    return module


@pytest.mark.tools
def test_every_picture_is_drawn_from_what_the_analysis_finds(
    drawing: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "pictures"
    folder.mkdir()
    monkeypatch.setattr(drawing, "PICTURES", folder)
    assert drawing.main() == 0
    for name in ("loading.svg", "crack.svg", "destroke.svg", "pair.svg"):
        drawn = ET.parse(folder / name).getroot()  # noqa: S314  # drawn here
        kept = ET.parse(guide.FOLDER / "pictures" / name).getroot()  # noqa: S314  # our own
        words = [[e.text for e in root.iter() if e.tag.endswith("text")] for root in (drawn, kept)]
        assert [w for w in words[0] if not is_number(w)] == [
            w for w in words[1] if not is_number(w)
        ]


def test_every_picture_with_words_is_there_in_german(
    drawing: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pictures = guide.FOLDER / "pictures"
    shutil.copytree(pictures, tmp_path / "pictures")
    monkeypatch.setattr(drawing, "PICTURES", tmp_path / "pictures")
    drawing.translate("de")
    made = {p.name: p.read_text("utf-8") for p in (tmp_path / "de" / "pictures").iterdir()}
    kept = {p.name: p.read_text("utf-8") for p in (guide.FOLDER / "de" / "pictures").iterdir()}
    assert made == kept
    assert made.keys() == {p.name for p in pictures.iterdir() if "<text" in p.read_text("utf-8")}


def test_a_picture_whose_words_have_no_german_is_not_half_translated(drawing: ModuleType) -> None:
    svg = '<text x="1">0.5</text><text x="2">pump</text>'
    assert drawing.translated(svg, {"pump": "Pumpe"}, ",").count("0,5</text>") == 1
    with pytest.raises(drawing.NotFound, match="pump"):
        drawing.translated(svg, {}, ",")


def is_number(text: str | None) -> bool:
    return (text or "").replace(".", "").isdigit()
