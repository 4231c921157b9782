"""Kits in the window: what is opened, saved, edited, and how old its calibrations are."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QComboBox, QFileDialog, QLineEdit
from pytestqt.qtbot import QtBot

from gaugebench.desk.hookup.stages import Stage
from gaugebench.desk.hookup.table import SAID
from gaugebench.desk.memory import Memory
from gaugebench.desk.window import DeskWindow
from gaugebench.simulate.board import Board
from gaugebench.simulate.perform import Hands
from gaugebench.simulate.visit import free_script

LEFT = Qt.MouseButton.LeftButton
NAMELESS = """
[[source]]
driver = "text-lines"
[source.options]
port = "{port}"
[[source.channel]]
input = "pilot"
role = "pilot"
unit = "bar"
range = ["0 bar", "60 bar"]
calibrated_on = {old}
[[source.channel]]
input = "p1"
role = "pump1.main"
unit = "bar"
range = ["0 bar", "600 bar"]
"""


def _click(widget: QAbstractButton) -> None:
    assert widget.isEnabled(), widget.text()
    QTest.mouseClick(widget, LEFT)


def _type(line: QLineEdit, text: str) -> None:
    line.clear()
    QTest.keyClicks(line, text)
    QTest.keyClick(line, Qt.Key.Key_Return)


def _pick(box: QComboBox, row: int) -> None:
    """With the keys, as one does without a mouse."""
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Home)
    for _ in range(row):
        QTest.keyClick(box, Qt.Key.Key_Down)
    box.activated.emit(box.currentIndex())


def _nameless(folder: Path, port: str) -> Path:
    old = (datetime.now(UTC) - timedelta(days=500)).date().isoformat()
    path = folder / "nameless.toml"
    path.write_text(NAMELESS.format(port=port, old=old), encoding="utf-8")
    return path


def test_a_kit_whose_source_has_no_name_is_opened_connected_and_let_go(
    window: DeskWindow, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pages = window.hookup.pages
    with Board(free_script(), rate_hz=50.0, wait_s=0.5, hands=Hands()) as board:
        path = _nameless(tmp_path, board.port)
        monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(path), ""))
        QTest.keyClick(window, Qt.Key.Key_K, Qt.KeyboardModifier.ControlModifier)
        assert pages.table.rowCount() == 2
        assert "kit: text-lines, 2 inputs" in pages.sources.sources.item(0).text()
        QTest.keyClick(window, Qt.Key.Key_H, Qt.KeyboardModifier.ControlModifier)
        qtbot.waitUntil(lambda: window.feed is not None, timeout=60_000)
        assert window.hookup.notice.text == ""
        _click(pages.bar.buttons[Stage.RELEASE])
        _click(pages.release.disconnect_button)
        qtbot.waitUntil(lambda: window.workers.busy == 0, timeout=60_000)
    assert window.feed is None


def test_a_second_source_is_added_to_a_kit_that_was_opened(
    window: DeskWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    pages, hookup = window.hookup.pages, window.hookup
    qtbot.waitUntil(lambda: pages.sources.form is not None, timeout=60_000)
    hookup.open_kit(_nameless(tmp_path, "/dev/ttyUSB0"))
    assert pages.sources.form is not None
    port = pages.sources.form.fields["port"]
    assert isinstance(port, QComboBox)
    port.setEditText("")
    QTest.keyClicks(port, "/dev/ttyUSB1")
    _pick(pages.sources.count, 1)
    _click(pages.sources.add_button)
    assert hookup.notice.text == ""
    assert hookup.draft.kit is not None
    assert [len(s.channel) for s in hookup.draft.kit.source] == [2, 2]
    _click(pages.sources.remove_button)  # the one that was added is chosen
    assert [len(s.channel) for s in hookup.draft.kit.source] == [2]


def test_an_old_calibration_is_warned_of_until_it_is_held_good_for_longer(
    window: DeskWindow, tmp_path: Path, memory: Memory, qtbot: QtBot
) -> None:
    pages = window.hookup.pages
    window.hookup.open_kit(_nameless(tmp_path, "/dev/ttyUSB0"))
    _click(pages.bar.buttons[Stage.RANGES])
    _type(pages.ranges.highest, "350 bar")
    assert "overdue" in pages.table.text(0, SAID)
    assert "overdue" not in pages.table.text(1, SAID)
    assert "1 of 2 transducers are to be calibrated again" in pages.ranges.dates.text()
    assert pages.ranges.dates.property("trouble") is True
    _pick(pages.ranges.months, pages.ranges.months.findData(24))
    assert "overdue" not in pages.table.text(0, SAID)
    assert pages.ranges.dates.property("trouble") is False
    again = DeskWindow(memory)
    qtbot.addWidget(again)
    assert again.hookup.pages.ranges.good_months == 24
    again.close()


def test_what_a_column_is_stands_whole_on_a_small_screen(
    window: DeskWindow, tmp_path: Path
) -> None:
    window.resize(1280, 800)
    table = window.hookup.pages.table
    window.hookup.open_kit(_nameless(tmp_path, "/dev/ttyUSB0"))
    for stage in Stage:
        _click(window.hookup.pages.bar.buttons[stage])
        head = table.horizontalHeader()
        for column in range(SAID):
            if not table.isColumnHidden(column):
                assert head.sectionSize(column) >= head.sectionSizeHint(column)
        assert table.horizontalScrollBar().maximum() == 0
    assert table.viewport().rect().contains(QPoint(table.columnViewportPosition(SAID), 5))
