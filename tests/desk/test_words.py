"""German is complete: every text that the code asks for is in the catalogue, with its places."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtWidgets import QApplication, QLabel, QPushButton
from pytestqt.qtbot import QtBot

import gaugebench.desk
from gaugebench.analyse.figures import analyse
from gaugebench.desk import words
from gaugebench.desk.language import install
from gaugebench.desk.memory import Memory
from gaugebench.desk.review.opened import prepare
from gaugebench.desk.window import DeskWindow
from gaugebench.model.figures import Figure
from gaugebench.model.trace import Trace
from gaugebench.procedure.rules import deference, label, load, run_in

if TYPE_CHECKING:
    from tests.desk.conftest import FakeFeed

ROOM = Path(gaugebench.desk.__file__).parent
PLACES = re.compile(r"\{(\w+)\}")


def _asked() -> set[str]:
    """Every text written in a call of `tr`."""
    found: set[str] = set()
    for path in ROOM.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "tr":
                first = node.args[0]
                if isinstance(first, ast.Constant):
                    found.add(str(first.value))
    return found


def test_every_text_has_its_german() -> None:
    missing = _asked() - set(words.catalogue("de"))
    assert len(_asked()) > 150
    assert not missing


def _sayings() -> set[str]:
    """Every template of a saying in these rooms, and every text of the data files."""
    found: set[str] = set()
    rooms = (ROOM.parent / room for room in ("procedure", "model", "report"))
    for path in (p for room in rooms for p in room.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Saying":
                first = node.args[0]
                if isinstance(first, ast.Constant):
                    found.add(str(first.value))
    kept = {"limiting": ("title", "next"), "swaps": ("title", "followed", "stayed"),
            "cautions": ("text",)}  # fmt: skip
    for name, keys in kept.items():
        rows = next(rows for rows in load(name).values() if isinstance(rows, list))
        found |= {row[key] for row in rows for key in keys}
    return found | {*run_in(), label(), deference()}


def test_what_the_worksheet_and_the_report_say_has_its_german() -> None:
    found = {text for text in _sayings() if any(c.isalpha() for c in PLACES.sub("", text))}
    assert len(found) > 200
    assert not found - set(words.catalogue("de"))


def _analysed() -> tuple[set[str], set[str]]:
    """What the analysis says in plain texts and sayings, and what it says by formatting.

    Every text of several words that is neither a docstring nor an error's; errors are the
    program's own or a file's.
    """
    texts: set[str] = set()
    formatted: set[str] = set()
    for path in (ROOM.parent / "analyse").rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        aside = {
            id(part)
            for node in ast.walk(tree)
            if isinstance(node, ast.Raise)
            or (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant))
            for part in ast.walk(node)
        }
        for node in ast.walk(tree):
            if isinstance(node, ast.JoinedStr) and id(node) not in aside:
                aside |= {id(part) for part in ast.walk(node)}
                if " " in "".join(str(v.value) for v in node.values if isinstance(v, ast.Constant)):
                    formatted.add(ast.unparse(node))
        texts |= {
            node.value
            for node in ast.walk(tree)
            if isinstance(node, ast.Constant) and isinstance(node.value, str)
            if " " in node.value and id(node) not in aside
        }
    return texts, formatted


def test_what_the_analysis_says_has_its_german() -> None:
    texts, formatted = _analysed()
    assert len(texts) > 100
    wordy = {text for text in texts if any(c.isalpha() for c in PLACES.sub("", text))}
    assert not wordy - set(words.catalogue("de"))
    # A formatted text cannot be looked up: a saying keeps its template.
    assert not formatted


def test_what_a_spread_is_made_of_has_its_german(trace: Trace) -> None:
    figures = analyse(trace)
    pumps = [pump for loading in figures.loadings for pump in loading.pumps.values()]
    found = [answer for pump in pumps for answer in (pump.settled, pump.peak, pump.ripple_pp)]
    parts = {name for answer in found if isinstance(answer, Figure) for name in answer.parts}
    assert parts
    assert not parts - set(words.catalogue("de"))


def test_no_text_is_translated_on_two_pages() -> None:
    pages = (ROOM / "catalogues" / "de").glob("*.toml")
    texts = [text for p in pages for text in tomllib.loads(p.read_text("utf-8"))["words"]]
    assert len(texts) == len(set(texts))


def test_every_translation_keeps_its_places() -> None:
    for english, german in words.catalogue("de").items():
        assert set(PLACES.findall(english)) == set(PLACES.findall(german)), english
        assert german.strip(), english


def test_an_unknown_language_is_an_error() -> None:
    with pytest.raises(KeyError):
        words.speak("xx")


@pytest.fixture
def german(qapp: QApplication) -> Iterator[None]:
    translators = install(qapp, "de")
    yield
    for translator in translators:
        qapp.removeTranslator(translator)


@pytest.mark.usefixtures("german")
def test_the_whole_window_speaks_german_with_decimal_commas(
    qtbot: QtBot, memory: Memory, feed: FakeFeed, trace: Trace
) -> None:
    window = DeskWindow(memory)
    qtbot.addWidget(window)
    window.attach(feed)
    window.show()
    for index in range(window.tabs.count()):
        window.tabs.setCurrentIndex(index)
    window.live.tick()
    window.review.show_opened(prepare(trace))
    window.review.cursor_button.click()
    for step in (1, -1):
        window.review.step_loading(step)
    window.live.row.renew(window.units.shown, speak=True)
    assert not words.missing()
    assert [window.tabs.tabText(i) for i in range(5)] == [
        "Anschließen", "Live", "Auswertung", "Nebeneinander", "Arbeitsblatt",
    ]  # fmt: skip
    settled = window.review.analysis.table.item(0, 1)
    assert settled is not None
    assert re.match(r"\d{3},\d ± \d+,\d bar", settled.text())
    readout = window.live.row.readouts[1].accessibleName()
    assert re.match(r"Pumpe 1: \d+,\d bar", readout)
    texts = [w.text() for w in window.findChildren(QPushButton)]
    texts += [w.text() for w in window.findChildren(QLabel)]
    assert "Record" not in " ".join(texts)
    window.close()


@pytest.mark.usefixtures("german")
def test_qt_asks_in_the_same_catalogue() -> None:
    assert QApplication.translate("any", "Connect") == "Verbinden"
