"""Hook-up to record over the practice machine, driven with keys and mouse: a real session."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QLineEdit, QPushButton
from pytestqt.qtbot import QtBot

from gaugebench.desk.hookup.toml import save_kit
from gaugebench.desk.memory import Memory
from gaugebench.desk.window import DeskWindow
from gaugebench.simulate.visit import practice_kit

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def window(qtbot: QtBot, memory: Memory, tmp_path: Path) -> Iterator[DeskWindow]:
    memory.keep("folder", str(tmp_path / "records"))
    made = DeskWindow(memory)
    qtbot.addWidget(made)
    made.resize(1600, 900)
    made.show()
    qtbot.waitExposed(made)
    yield made
    made.close()


def _click(widget: QPushButton) -> None:
    assert widget.isEnabled(), widget.text()
    QTest.mouseClick(widget, LEFT)


def _type(line: QLineEdit, text: str) -> None:
    line.clear()
    QTest.keyClicks(line, text)
    QTest.keyClick(line, Qt.Key.Key_Return)


def _until(qtbot: QtBot, condition: Callable[[], bool]) -> None:
    qtbot.waitUntil(condition, timeout=20_000)


def test_an_empty_place_says_what_to_do_first(window: DeskWindow) -> None:
    assert window.tabs.currentWidget() is window.hookup
    assert "practise" in window.hookup.advice.text()
    assert not window.hookup.connect_button.isEnabled()
    window.tabs.setCurrentWidget(window.live)
    assert "Hook-up" in window.live.empty.text()


def test_practise_record_and_review(window: DeskWindow, qtbot: QtBot) -> None:
    _click(window.hookup.practise_button)
    _until(qtbot, lambda: window.feed is not None)
    assert window.simulated.isVisible()
    _until(qtbot, lambda: "bar" in _now(window, 1))
    window.tabs.setCurrentWidget(window.live)
    _click(window.live.bar.record_button)
    _until(qtbot, window.live.bar.stop_button.isEnabled)
    qtbot.wait(700)
    _click(window.live.bar.mark_button)
    _click(window.live.bar.stop_button)
    _until(qtbot, lambda: window.review.opened is not None)
    opened = window.review.opened
    assert opened is not None
    assert opened.trace.simulated
    assert window.tabs.currentWidget() is window.review
    assert [m.kind.value for m in opened.marks if m.standing.value == "by hand"] == ["note"]
    assert len(opened.trace.series) == 6
    window.tabs.setCurrentWidget(window.hookup)
    _click(window.hookup.disconnect_button)
    _until(qtbot, lambda: window.workers.busy == 0)
    assert window.feed is None


def _now(window: DeskWindow, row: int) -> str:
    item = window.hookup.table.item(row, 4)
    return item.text() if item is not None else ""


def test_a_kit_file_is_opened_and_checked(window: DeskWindow, qtbot: QtBot, tmp_path: Path) -> None:
    save_kit(practice_kit(), tmp_path / "kit.toml")
    window.hookup.open_kit(tmp_path / "kit.toml")
    assert window.hookup.table.rowCount() == 6
    verdict = window.hookup.table.item(1, 6)
    assert verdict is not None
    assert "highest relief" in verdict.text()
    _type(window.hookup.highest, "900 bar")
    verdict = window.hookup.table.item(1, 6)
    assert verdict is not None
    assert verdict.text().startswith("STOP")
    assert "STOP" in window.hookup.advice.text()
    _type(window.hookup.highest, "350 bar")
    verdict = window.hookup.table.item(1, 6)
    assert verdict is not None
    assert verdict.text() == "may be connected"


def test_a_channel_is_edited_in_the_form(window: DeskWindow, qtbot: QtBot) -> None:
    hookup = window.hookup
    hookup.use(practice_kit())
    hookup.table.selectRow(1)
    assert hookup.form.lines["high"].text() == "600 bar"
    _type(hookup.form.lines["high"], "60 MPa")
    assert hookup.draft.kit is not None
    assert hookup.draft.kit.source[0].channel[1].range == ("0 bar", "60 MPa")
    _type(hookup.form.lines["high"], "600")
    assert "Not a kit yet" in hookup.advice.text()
    assert not hookup.connect_button.isEnabled()
    _type(hookup.form.lines["high"], "600 bar")
    assert hookup.connect_button.isEnabled()


def test_a_source_is_added_with_its_options(window: DeskWindow, qtbot: QtBot) -> None:
    sources = window.hookup.sources
    qtbot.waitUntil(lambda: sources.driver.count() > 0, timeout=20_000)
    sources.driver.setCurrentText("text-lines")
    sources.count.setCurrentText("3")
    form = sources.form
    assert form is not None
    port = form.fields["port"]
    assert isinstance(port, QComboBox)
    port.setEditText("")
    _click(sources.add_button)
    assert "port" in window.hookup.notice.text  # it is required, and the message names it
    port.setEditText("")
    QTest.keyClicks(port, "/dev/ttyUSB7")
    _click(sources.add_button)
    assert window.hookup.draft.kit is not None
    entry = window.hookup.draft.kit.source[0]
    assert entry.driver == "text-lines"
    assert entry.options == {"port": "/dev/ttyUSB7"}
    assert len(entry.channel) == 3


def test_a_port_that_is_not_there_is_said_in_the_window(window: DeskWindow, qtbot: QtBot) -> None:
    window.hookup.draft.add_source("text-lines", {"port": "/dev/ttyNONE"}, 2)
    window.hookup.renew()
    _click(window.hookup.connect_button)
    _until(qtbot, lambda: bool(window.hookup.notice.text))
    assert "ttyNONE" in window.hookup.notice.text
    assert window.feed is None


def test_a_kit_is_read_over_a_pseudo_terminal(
    window: DeskWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    from gaugebench.simulate.board import Board
    from gaugebench.simulate.visit import demo_kit, demo_script

    assert shutil.which("python3")
    with Board(demo_script(), wait_s=0.5) as board:
        window.hookup.use(demo_kit(board.port))
        _click(window.hookup.connect_button)
        _until(qtbot, lambda: window.feed is not None)
        _until(qtbot, lambda: "rpm" in _now(window, 5))
        _click(window.hookup.disconnect_button)
        _until(qtbot, lambda: window.workers.busy == 0)
