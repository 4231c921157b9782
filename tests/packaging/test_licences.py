"""Every part that travels along brings its licence text; what brings none stops the build."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture
def licences(script: Callable[[str], ModuleType]) -> ModuleType:
    return script("licences")


def test_every_package_needed_at_run_time_has_a_text(licences: ModuleType) -> None:
    pieces = [*licences.of_packages(), licences.of_python()]
    assert licences.missing(pieces) == []
    assert pieces[0].title.startswith("gaugebench ")


def test_qt_is_given_with_the_lgpl_and_the_gpl_it_builds_on(
    licences: ModuleType, tmp_path: Path
) -> None:
    target = tmp_path / "licences.txt"
    assert licences.main([str(target)]) == 0
    text = target.read_text(encoding="utf-8")
    # Titles as the Free Software Foundation publishes them.
    assert "GNU LESSER GENERAL PUBLIC LICENSE" in text
    assert "GNU GENERAL PUBLIC LICENSE\n" in text
    assert "PySide6_Essentials 6." in text


def test_a_part_without_a_text_stops_it(
    licences: ModuleType,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(licences, "of_python", lambda: licences.Piece("Python 3", "PSF", {}))
    assert licences.main([str(tmp_path / "licences.txt")]) == 1
    assert "Python 3" in capsys.readouterr().err
    assert not (tmp_path / "licences.txt").exists()


def test_a_text_that_two_share_stands_once(licences: ModuleType) -> None:
    pieces = [licences.Piece(name, "MIT", {"LICENSE": "do as you like"}) for name in ("a", "b")]
    text = licences.compose(pieces, "1")
    assert text.count("do as you like") == 1
    assert "the same text as under a" in text
