"""Side by side, worked with the mouse over two traces."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox
from pytestqt.qtbot import QtBot

from gaugebench.desk.memory import Memory
from gaugebench.desk.review.opened import prepare
from gaugebench.desk.window import DeskWindow
from gaugebench.model.trace import Trace
from gaugebench.store.tracefile import write_trace

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def window(qtbot: QtBot, memory: Memory, trace: Trace) -> DeskWindow:
    made = DeskWindow(memory)
    qtbot.addWidget(made)
    made.resize(1600, 900)
    made.show()
    qtbot.waitExposed(made)
    made.review.show_opened(prepare(trace, Path("visit.h5")))
    made.tabs.setCurrentWidget(made.compare)
    return made


def _pick(box: QComboBox, row: int) -> None:
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Home)
    for _ in range(row):
        QTest.keyClick(box, Qt.Key.Key_Down)
    box.activated.emit(box.currentIndex())


def _text(window: DeskWindow, row: int, column: int) -> str:
    item = window.compare.table.item(row, column)
    return item.text() if item is not None else ""


def test_two_pumps_of_the_trace_in_review_stand_side_by_side(window: DeskWindow) -> None:
    titles = [pane.spec.title for pane in window.compare.picture.panes]
    assert titles == ["Main", "Control", "B − A"]
    assert _text(window, 0, 0) == "Settled"
    assert _text(window, 0, 1).startswith("343.")
    assert window.simulated.isVisible()


def test_stacked_gives_each_its_own_pane(window: DeskWindow) -> None:
    QTest.mouseClick(window.compare.stacked, LEFT)
    assert len(window.compare.picture.panes) == 5


def test_a_nudge_moves_one_side(window: DeskWindow) -> None:
    side_b = window.compare.sides[1]
    before = window.compare.picture.panes[0].lines.lines[1].data.y.copy()
    QTest.mouseClick(side_b.later, LEFT)
    after = window.compare.picture.panes[0].lines.lines[1].data.y
    assert side_b.nudge.text() == "+0.01 s"
    assert not np.array_equal(after, before)


def test_another_loading_and_the_other_anchors(window: DeskWindow) -> None:
    _pick(window.compare.sides[1].loading, 1)
    side = window.compare.sides[1].side
    assert side is not None
    assert side.loading == 1
    _pick(window.compare.anchor, 4)
    assert window.compare.notice.text == ""
    _pick(window.compare.anchor, 3)  # no cut-off in this trace, on either side
    if window.compare.notice.text:
        assert "line up on another" in window.compare.notice.text


def test_units_and_clipboard(window: DeskWindow) -> None:
    QTest.mouseClick(window.unit_bar.buttons["kgf/cm²"], LEFT)
    QTest.mouseClick(window.compare.copy_table, LEFT)
    lines = QGuiApplication.clipboard().text().splitlines()
    assert "kgf/cm²" in lines[1]
    assert lines[0].startswith("Figure\tpump 1, loading 1, visit.h5\tpump 2")
    QTest.mouseClick(window.compare.copy_picture, LEFT)
    assert not QGuiApplication.clipboard().image().isNull()


def test_another_trace_on_one_side(
    window: DeskWindow, qtbot: QtBot, trace: Trace, tmp_path: Path
) -> None:
    path = write_trace(replace(trace, simulated=False), tmp_path / "last year.h5")
    window.compare.open(1, path)
    qtbot.waitUntil(lambda: window.compare.sides[1].trace.text() == "last year.h5", timeout=20_000)
    assert _text(window, 0, 4).endswith("%")
