"""A text file is looked at, asked about, read, and its reading remembered: with keys and mouse."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog, QPushButton
from pytestqt.qtbot import QtBot

from gaugebench.desk.memory import Memory
from gaugebench.desk.review.importpane import ImportPane
from gaugebench.desk.window import DeskWindow
from gaugebench.model.role import Role
from gaugebench.quantity import Reference
from gaugebench.store.importing.recipe import load_recipe
from gaugebench.store.tracefile import TraceFile

LEFT = Qt.MouseButton.LeftButton
WAIT = 30_000
TIMES = np.arange(0.0, 12.0, 0.01)
MAIN = 25.0 + 318.0 * np.clip((TIMES - 4) / 0.15, 0, 1) * (TIMES < 8)


def write(path: Path, head: str, rows: list[str]) -> Path:
    path.write_text("\n".join([head, *rows, ""]), encoding="utf-8")
    return path


@pytest.fixture
def dated(tmp_path: Path) -> Path:
    """A date that can be read in two ways, and no units."""
    rows = [
        f"03/04/2025 08:00:{int(t):02}.{round(100 * t) % 100:02},{p:.1f},{p + 2:.1f}"
        for t, p in zip(TIMES, MAIN, strict=True)
    ]
    return write(tmp_path / "visit.csv", "date,P1,P2", rows)


@pytest.fixture
def window(qtbot: QtBot, memory: Memory) -> DeskWindow:
    made = DeskWindow(memory)
    qtbot.addWidget(made)
    made.resize(1600, 900)
    made.show()
    qtbot.waitExposed(made)
    return made


def _look(window: DeskWindow, qtbot: QtBot, path: Path) -> ImportPane:
    window.review.opener.open(path, look_first=True)
    window.tabs.setCurrentWidget(window.review)
    pane = window.review.opener.pane
    qtbot.waitUntil(pane.isVisible, timeout=WAIT)
    qtbot.waitUntil(lambda: pane.seen is not None and pane.seen.path == path, timeout=WAIT)
    return pane


def _is_open(window: DeskWindow) -> bool:
    return window.review.opened is not None


def _answer(pane: ImportPane, qtbot: QtBot, title: str) -> None:
    (found,) = (b for b in pane.asking.findChildren(QPushButton) if b.text() == title)
    before = pane.seen
    QTest.mouseClick(found, LEFT)
    qtbot.waitUntil(lambda: pane.seen is not before, timeout=WAIT)
    qtbot.wait(10)


def _set_role(pane: ImportPane, qtbot: QtBot, column: str, role: str) -> None:
    box = pane.table.roles[column]
    before = pane.seen
    box.setCurrentIndex(box.findData(role))
    box.activated.emit(box.currentIndex())
    qtbot.waitUntil(lambda: pane.seen is not before, timeout=WAIT)


def test_what_cannot_be_told_is_asked_and_the_answers_open_the_trace(
    window: DeskWindow, qtbot: QtBot, dated: Path
) -> None:
    pane = _look(window, qtbot, dated)
    assert not _is_open(window)
    assert not pane.read_button.isEnabled()
    assert "3 open" in pane.state.text()  # the date, and a unit for each pressure
    _answer(pane, qtbot, "day first: 2025-04-03")
    _answer(pane, qtbot, "bar")
    _answer(pane, qtbot, "gauge")
    _set_role(pane, qtbot, "P1", "pump1.main")
    _set_role(pane, qtbot, "P2", "pump2.main")
    assert pane.read_button.isEnabled()
    pane.read_button.setFocus()
    QTest.keyClick(pane.read_button, Qt.Key.Key_Space)
    qtbot.waitUntil(lambda: window.review.opened is not None, timeout=WAIT)
    assert window.review.opened is not None
    trace = window.review.opened.trace
    assert trace.started is not None
    assert (trace.started.day, trace.started.month) == (3, 4)
    main = trace.find(Role.main(1))
    assert main is not None
    assert main.channel.reference is Reference.GAUGE
    assert main.values.max() == pytest.approx(343e5, rel=1e-6)
    assert trace.pumps == (1, 2)
    assert not pane.isVisible()
    assert window.review.picture.isVisible()
    assert len(window.review.analysis.figures.loadings) == 1


def test_the_next_file_of_the_logger_is_read_alike_and_may_differ(
    window: DeskWindow, qtbot: QtBot, dated: Path, tmp_path: Path
) -> None:
    pane = _look(window, qtbot, dated)
    _answer(pane, qtbot, "month first: 2025-03-04")
    _answer(pane, qtbot, "psi")
    QTest.mouseClick(pane.read_button, LEFT)
    qtbot.waitUntil(lambda: window.review.opened is not None, timeout=WAIT)
    second = tmp_path / "second.csv"
    second.write_bytes(dated.read_bytes())
    pane = _look(window, qtbot, second)
    qtbot.waitUntil(pane.read_button.isEnabled, timeout=WAIT)
    assert "as the last file" in pane.state.text()
    assert pane.seen is not None
    assert pane.seen.facts.date_order == "mdy"
    assert pane.seen.said.units == {"P1": "psi", "P2": "psi"}


def test_a_recipe_is_saved_and_used(
    window: DeskWindow,
    qtbot: QtBot,
    dated: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    kept = tmp_path / "kept.json"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(kept), ""))
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(kept), ""))
    pane = _look(window, qtbot, dated)
    _answer(pane, qtbot, "day first: 2025-04-03")
    _answer(pane, qtbot, "MPa")
    QTest.mouseClick(pane.save_button, LEFT)
    assert load_recipe(kept).date_order == "dmy"
    again = tmp_path / "again.csv"
    again.write_bytes(dated.read_bytes())
    pane = _look(window, qtbot, again)
    assert not pane.read_button.isEnabled()  # nothing was read yet, so nothing is remembered
    QTest.mouseClick(pane.use_button, LEFT)
    qtbot.waitUntil(pane.read_button.isEnabled, timeout=WAIT)
    assert pane.seen is not None
    assert [c.unit for c in pane.seen.columns] == ["", "MPa", "MPa"]


def test_a_thousands_mark_and_a_missing_time_are_asked_with_their_readings(
    window: DeskWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    rows = [f"{n * 10};{173 + n % 7},900" for n in range(40)]
    pane = _look(window, qtbot, write(tmp_path / "comma.csv", "t [ms];P1 [bar]", rows))
    _answer(pane, qtbot, "decimal mark: 173.900")
    assert pane.seen is not None
    assert pane.seen.is_ready
    bare = write(tmp_path / "bare.csv", "P1 bar,P2 bar", [f"{p:.1f},{p:.2f}" for p in MAIN])
    pane = _look(window, qtbot, bare)
    assert "1 open" in pane.state.text()
    (line,) = pane.asking.rates
    QTest.keyClicks(line, "100")
    QTest.keyClick(line, Qt.Key.Key_Return)
    qtbot.waitUntil(pane.read_button.isEnabled, timeout=WAIT)


def test_a_file_is_dropped_and_left_unread_and_what_was_open_stays(
    window: DeskWindow, qtbot: QtBot, dated: Path, tmp_path: Path
) -> None:
    plain = write(
        tmp_path / "plain.csv",
        "time [s],pump1.main [barg]",
        [f"{t:.2f},{p:.1f}" for t, p in zip(TIMES, MAIN, strict=True)],
    )
    pane = _look(window, qtbot, plain)
    qtbot.waitUntil(pane.read_button.isEnabled, timeout=WAIT)
    assert not pane.asking.cards  # it says all that is needed
    QTest.mouseClick(pane.read_button, LEFT)
    qtbot.waitUntil(lambda: window.review.opened is not None, timeout=WAIT)
    before = window.review.opened
    _drop(window, dated)
    qtbot.waitUntil(lambda: pane.seen is not None and pane.seen.path == dated, timeout=WAIT)
    QTest.mouseClick(pane.leave_button, LEFT)
    assert not pane.isVisible()
    assert window.review.opened is before
    assert window.review.picture.isVisible()


def test_a_text_that_says_everything_is_read_at_once(
    window: DeskWindow, qtbot: QtBot, tmp_path: Path, dated: Path
) -> None:
    """As an export or a sample trace does; nothing is shown first and nothing is asked."""
    shown: list[bool] = []
    window.review.opener.looking.connect(shown.append)
    rows = [f"{t:.2f},{p:.1f}" for t, p in zip(TIMES, MAIN, strict=True)]
    window.open_trace(write(tmp_path / "plain.csv", "time [s],pump1.main [barg]", rows))
    qtbot.waitUntil(lambda: window.review.opened is not None, timeout=WAIT)
    assert True not in shown
    assert not window.review.opener.pane.isVisible()
    assert window.review.picture.isVisible()
    assert window.review.opened is not None
    assert len(window.review.opened.trace.series[0]) == len(TIMES)
    window.menus.actions["otherwise"].trigger()  # what it says may not be what was meant
    qtbot.waitUntil(window.review.opener.pane.isVisible, timeout=WAIT)
    assert True in shown


def test_only_a_text_file_is_read_in_another_way(window: DeskWindow) -> None:
    window.menus.actions["otherwise"].trigger()
    assert "No text file is open" in window.review.notice.text


def _drop(window: DeskWindow, path: Path) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    middle = QPointF(QPoint(400, 400))
    action, keys = Qt.DropAction.CopyAction, Qt.KeyboardModifier.NoModifier
    window.dropEvent(QDropEvent(middle, action, data, LEFT, keys))


def test_bad_files_are_one_sentence_and_lose_nothing(
    window: DeskWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    (tmp_path / "sheet.csv").write_bytes(b"PK\x03\x04 and so on")
    (tmp_path / "empty.csv").write_bytes(b"")
    for name, word in (("sheet.csv", "spreadsheet"), ("empty.csv", "no text")):
        window.open_trace(tmp_path / name)
        qtbot.waitUntil(lambda w=word: w in window.review.notice.text, timeout=WAIT)  # type: ignore[misc]
        assert not window.review.opener.pane.isVisible()
    pane = _look(window, qtbot, write(tmp_path / "words.csv", "one,two", ["a,b", "c,d"]))
    assert "no table of numbers" in pane.state.text()
    assert not pane.read_button.isEnabled()
    assert "a,b" in pane.raw.toPlainText()


def test_a_text_becomes_a_trace_file_with_its_marks(
    window: DeskWindow,
    qtbot: QtBot,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rows = [f"{t:.2f},{p:.1f}" for t, p in zip(TIMES, MAIN, strict=True)]
    plain = write(tmp_path / "plain.csv", "time [s],pump1.main [barg]", rows)
    target = tmp_path / "made.h5"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(target), ""))
    pane = _look(window, qtbot, plain)
    qtbot.waitUntil(pane.file_button.isEnabled, timeout=WAIT)
    QTest.mouseClick(pane.file_button, LEFT)
    qtbot.waitUntil(lambda: window.review.opened is not None, timeout=WAIT)
    assert window.review.opened is not None
    assert window.review.opened.path == target
    second = tmp_path / "kept.h5"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(second), ""))
    pane = _look(window, qtbot, plain)
    qtbot.waitUntil(pane.read_button.isEnabled, timeout=WAIT)
    before = window.review.opened
    QTest.mouseClick(pane.read_button, LEFT)
    qtbot.waitUntil(lambda: window.review.opened is not before, timeout=WAIT)
    window.review.add_mark("as found")
    QTest.mouseClick(window.review.save_button, LEFT)
    qtbot.waitUntil(lambda: window.review.edits.are_kept, timeout=WAIT)
    assert "as found" in [m.note for m in TraceFile(second).head.marks]
    assert window.review.opened.path == second
    third = tmp_path / "part.h5"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(third), ""))
    window.review.picture.go(3.0, 6.0)
    window.review.save_stretch()
    qtbot.waitUntil(lambda: third.exists() and window.workers.busy == 0, timeout=WAIT)
    low, high = TraceFile(third).span_s()
    assert low == pytest.approx(3.0, abs=0.02)
    assert high == pytest.approx(6.0, abs=0.02)


def test_reading_can_be_stopped(
    window: DeskWindow, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rows = [f"{t:.2f},{p:.1f}" for t, p in zip(TIMES, MAIN, strict=True)]
    pane = _look(window, qtbot, write(tmp_path / "a.csv", "time [s],pump1.main [barg]", rows))
    qtbot.waitUntil(pane.read_button.isEnabled, timeout=WAIT)
    begin = window.review.progress.begin

    def begin_stopped(words: str) -> object:
        tell = begin(words)
        QTest.mouseClick(window.review.progress.stop_button, LEFT)
        return tell

    monkeypatch.setattr(window.review.progress, "begin", begin_stopped)
    QTest.mouseClick(pane.read_button, LEFT)
    qtbot.waitUntil(lambda: window.workers.busy == 0, timeout=WAIT)
    assert window.review.opened is None
    assert pane.isVisible()
    assert window.review.notice.text == ""
    assert not window.review.progress.isVisible()
