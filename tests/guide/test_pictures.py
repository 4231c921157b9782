"""The pictures of the figures can be drawn again from a run of the practice machine."""

from __future__ import annotations

import importlib.util
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from gaugebench import guide

SCRIPT = Path(__file__).parents[2] / "packaging" / "draw_guide.py"


@pytest.mark.tools
def test_every_picture_is_drawn_from_what_the_analysis_finds(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    spec = importlib.util.spec_from_file_location("draw_guide", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    monkeypatch.setitem(sys.modules, "draw_guide", module)
    spec.loader.exec_module(module)
    monkeypatch.setattr(module, "PICTURES", tmp_path)
    assert module.main() == 0
    for name in ("loading.svg", "crack.svg", "destroke.svg", "pair.svg"):
        drawn = ET.parse(tmp_path / name).getroot()  # noqa: S314  # drawn here
        kept = ET.parse(guide.FOLDER / "pictures" / name).getroot()  # noqa: S314  # our own
        words = [[e.text for e in root.iter() if e.tag.endswith("text")] for root in (drawn, kept)]
        assert [w for w in words[0] if not is_number(w)] == [
            w for w in words[1] if not is_number(w)
        ]


def is_number(text: str | None) -> bool:
    return (text or "").replace(".", "").isdigit()
