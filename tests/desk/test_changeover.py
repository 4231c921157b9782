"""Theme and language are switched at once: whatever is under way goes on, nothing is lost."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QPushButton
from pytestqt.qtbot import QtBot

from gaugebench.desk.hookup.stages import Stage
from gaugebench.desk.language import switch
from gaugebench.desk.memory import Memory
from gaugebench.desk.review.opened import prepare
from gaugebench.desk.theme import DARK
from gaugebench.desk.window import DeskWindow
from gaugebench.desk.words import language
from gaugebench.model.trace import Trace
from gaugebench.simulate.board import Board
from gaugebench.simulate.perform import Hands
from gaugebench.simulate.visit import demo_kit, free_script
from gaugebench.store.tracefile import TraceFile

if TYPE_CHECKING:
    from tests.desk.conftest import FakeFeed

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def window(
    qapp: QApplication,
    qtbot: QtBot,
    memory: Memory,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[DeskWindow]:
    memory.keep("folder", str(tmp_path / "records"))
    made = DeskWindow(memory)
    # A test that fails while a record runs must not be asked whether to seal it.
    monkeypatch.setattr(made, "_may_close", lambda: True)
    qtbot.addWidget(made)
    made.resize(1600, 900)
    made.show()
    qtbot.waitExposed(made)
    yield made
    made.close()
    switch(qapp, "en")


def _choose(window: DeskWindow, qtbot: QtBot, what: str) -> None:
    before = window.tabs
    # Looks at ports and disk come and go; what somebody waits for would stand in the way.
    qtbot.waitUntil(lambda: not window.workers.is_waited_for, timeout=60_000)
    window.menus.actions[f"choose {what}"].trigger()
    qtbot.waitUntil(lambda: window.tabs is not before, timeout=60_000)


def test_a_record_over_a_pseudo_terminal_goes_on_in_german_and_in_the_dark(
    window: DeskWindow, qtbot: QtBot, memory: Memory
) -> None:
    with Board(free_script(), rate_hz=50.0, wait_s=0.2, hands=Hands()) as board:
        window.hookup.use(demo_kit(board.port))
        QTest.keyClick(window, Qt.Key.Key_H, Qt.KeyboardModifier.ControlModifier)
        qtbot.waitUntil(lambda: window.feed is not None, timeout=60_000)
        feed = window.feed
        window.tabs.setCurrentWidget(window.live)
        QTest.keyClick(window, Qt.Key.Key_R, Qt.KeyboardModifier.ControlModifier)
        qtbot.waitUntil(window.live.bar.stop_button.isEnabled, timeout=60_000)
        QTest.keyClicks(window.live.bar.note, "before")
        QTest.mouseClick(window.live.bar.mark_button, LEFT)
        QTest.keyClicks(window.live.bar.note, "half typed")
        _choose(window, qtbot, "de")
        assert window.feed is feed
        assert feed is not None
        assert feed.record_state is not None
        assert window.tabs.is_current("live")
        assert window.live.bar.note.text() == "half typed"
        texts = [b.text() for b in window.findChildren(QPushButton) if b.isVisible()]
        assert "●  Aufzeichnen" in texts
        _choose(window, qtbot, "dark")
        assert window.theme is DARK
        assert language() == "de"
        assert feed.record_state is not None
        qtbot.waitUntil(
            lambda: any(r.value == r.value for r in window.live._readings.readings), timeout=60_000
        )
        QTest.mouseClick(window.live.bar.mark_button, LEFT)
        QTest.mouseClick(window.live.bar.stop_button, LEFT)
        qtbot.waitUntil(lambda: window.review.opened is not None, timeout=60_000)
        opened = window.review.opened
        assert opened is not None
        assert opened.path is not None
        notes = [m.note for m in TraceFile(opened.path).trace().marks if m.note]
        assert {"before", "half typed"} <= set(notes)
        window.disconnect_kit()
        qtbot.waitUntil(lambda: not window.workers.is_waited_for, timeout=60_000)
    assert (memory.text("language", ""), memory.text("theme", "")) == ("de", "dark")


def test_marks_that_are_not_saved_can_still_be_undone(
    window: DeskWindow, qtbot: QtBot, trace: Trace
) -> None:
    window.review.show_opened(prepare(trace, Path("visit.h5")))
    window.tabs.setCurrentWidget(window.review)
    QTest.keyClick(window, Qt.Key.Key_PageDown)
    before = window.review.edits.marks
    window.review.picture.go(6.0, 8.0)
    QTest.keyClick(window, Qt.Key.Key_M)
    after = window.review.edits.marks
    assert len(after) == len(before) + 1
    _choose(window, qtbot, "de")
    review = window.review
    assert review.edits.marks == after
    assert review.picture.view == pytest.approx((6.0, 8.0))
    assert review.analysis.current == 1
    assert review.side.marks.list.count() == len(after)
    assert review.analysis.title.text().startswith("Belastung 2 von 2")
    QTest.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert review.edits.marks == before
    assert review.side.marks.list.count() == len(before)
    assert window.compare.sides[0].side is not None


def test_hook_up_stands_where_it_stood(window: DeskWindow, qtbot: QtBot, feed: FakeFeed) -> None:
    hookup, pages = window.hookup, window.hookup.pages
    hookup.draft.add_source("text-lines", {"port": "/dev/ttyUSB0"}, 3)
    hookup.renew()
    pages.ranges.highest.setText("350 bar")
    QTest.mouseClick(pages.bar.buttons[Stage.FIT], LEFT)
    QTest.mouseClick(pages.fit.steps.done_button, LEFT)
    done = pages.fit.steps.list.done
    _choose(window, qtbot, "de")
    assert window.hookup is not hookup
    pages = window.hookup.pages
    assert pages.stage is Stage.FIT
    assert pages.fit.steps.list.done == done == 1
    assert pages.ranges.highest.text() == "350 bar"
    assert pages.table.rowCount() == 3
    assert pages.sources.sources.count() == 1
    words = [label.text() for label in pages.fit.findChildren(QLabel)]
    assert any(text.startswith("Schritt 2 von") for text in words)


def test_a_job_goes_on(window: DeskWindow, qtbot: QtBot) -> None:
    window.tabs.setCurrentWidget(window.worksheet)
    QTest.mouseClick(window.worksheet.form.practise_button, LEFT)
    path = window.worksheet.job.path
    assert path is not None
    window.worksheet.notes.setPlainText("gate code 7")
    _choose(window, qtbot, "contrast")
    assert window.worksheet.job.path == path
    assert window.worksheet.job.board() is not None
    assert window.worksheet.notes.toPlainText() == "gate code 7"
    assert window.worksheet.job.do("note", text="still ours")  # the file is held, once


def test_while_something_is_worked_on_the_choice_waits(window: DeskWindow, qtbot: QtBot) -> None:
    let_go = threading.Event()
    before = window.tabs
    window.workers.run(lambda: let_go.wait(60.0), lambda _: None, window.tabs.say)
    window.menus.actions["choose de"].trigger()
    qtbot.waitUntil(lambda: "choose again" in window.hookup.notice.text, timeout=60_000)
    assert window.tabs is before
    assert language() == "en"
    assert window.menus.actions["choose en"].isChecked()
    let_go.set()
    qtbot.waitUntil(lambda: not window.workers.is_waited_for, timeout=60_000)
