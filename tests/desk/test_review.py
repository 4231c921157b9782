"""The Review place, driven with keys and mouse over a made trace."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QTableWidgetItem, QWidget
from pytestqt.qtbot import QtBot

from gaugebench.desk.memory import Memory
from gaugebench.desk.review.opened import Opened, prepare
from gaugebench.desk.review.rows import loading_rows
from gaugebench.desk.shown import Shown
from gaugebench.desk.window import DeskWindow
from gaugebench.model.trace import Trace

NO_KEY = Qt.KeyboardModifier.NoModifier


@pytest.fixture
def opened(trace: Trace) -> Opened:
    return prepare(trace, Path("visit.h5"))


@pytest.fixture
def window(qtbot: QtBot, memory: Memory, opened: Opened) -> DeskWindow:
    made = DeskWindow(memory)
    qtbot.addWidget(made)
    made.resize(1600, 900)
    made.tabs.setCurrentWidget(made.review)
    made.show()
    qtbot.waitExposed(made)
    made.review.show_opened(opened)
    return made


def test_the_overview_is_the_labelled_loadings(window: DeskWindow, opened: Opened) -> None:
    strip = window.review.strip
    assert len(strip.loadings) == 2 == len(opened.figures.loadings)
    first, second = strip.block(0), strip.block(1)
    assert first.right() < second.left()
    assert "Loadings of the trace: 2" in strip.accessibleName()


def test_a_click_on_a_loading_brings_it_and_its_figures(
    window: DeskWindow, qtbot: QtBot, opened: Opened
) -> None:
    strip = window.review.strip
    where = strip.block(1).center().toPoint()
    QTest.mouseClick(strip, Qt.MouseButton.LeftButton, NO_KEY, where)
    loading = opened.figures.loadings[1]
    start, end = window.review.picture.view
    assert start < loading.start_s < loading.end_s < end
    assert end - start < 2 * (loading.end_s - loading.start_s)
    assert "Loading 2 of 2" in window.review.analysis.title.text()


def test_keys_step_through_the_loadings_and_back_to_the_whole(
    window: DeskWindow, qtbot: QtBot, opened: Opened
) -> None:
    QTest.keyClick(window, Qt.Key.Key_PageDown)
    assert window.review.analysis.current == 1
    QTest.keyClick(window, Qt.Key.Key_PageUp)
    assert window.review.analysis.current == 0
    QTest.keyClick(window, Qt.Key.Key_Home)
    start, end = window.review.picture.view
    assert (start, end) == pytest.approx(opened.trace.span_s, abs=0.01)


def test_zoom_and_pan_with_keys(window: DeskWindow, qtbot: QtBot) -> None:
    picture = window.review.picture
    whole = picture.view
    QTest.keyClick(window, Qt.Key.Key_Plus)
    start, end = picture.view
    assert end - start == pytest.approx((whole[1] - whole[0]) / 2)
    QTest.keyClick(window, Qt.Key.Key_Right, Qt.KeyboardModifier.ControlModifier)
    assert picture.view[0] > start
    QTest.keyClick(window, Qt.Key.Key_Minus)
    assert picture.view[1] - picture.view[0] > end - start


def test_a_drag_pans_and_with_box_zoom_it_zooms(window: DeskWindow, qtbot: QtBot) -> None:
    picture = window.review.picture
    picture.go(5.0, 15.0)
    qtbot.wait(20)
    box = picture.panes[0].box
    centre = picture.mapFromScene(box.sceneBoundingRect().center())
    _drag(qtbot, picture.viewport(), centre, centre + QPoint(120, 0))
    start, end = picture.view
    assert start < 5.0
    assert end - start == pytest.approx(10.0)
    QTest.mouseClick(window.review.box_button, Qt.MouseButton.LeftButton)
    _drag(qtbot, picture.viewport(), centre - QPoint(100, 40), centre + QPoint(100, 40))
    zoomed = picture.view
    assert zoomed[1] - zoomed[0] < 0.5 * (end - start)


def _drag(qtbot: QtBot, where: QWidget, start: QPoint, end: QPoint) -> None:
    QTest.mousePress(where, Qt.MouseButton.LeftButton, NO_KEY, start)
    for share in (0.3, 0.6, 1.0):
        QTest.mouseMove(where, start + (end - start) * share)
        qtbot.wait(15)
    QTest.mouseRelease(where, Qt.MouseButton.LeftButton, NO_KEY, end)


def test_every_figure_has_its_unit_and_every_absent_one_its_reason(
    window: DeskWindow, opened: Opened
) -> None:
    table = window.review.analysis.table
    rows = loading_rows(opened.figures.loadings[0], Shown())
    assert table.rowCount() == len(rows) >= 15
    for row in rows:
        for cell in row.cells:
            if cell.is_absent:
                assert len(cell.why) > 5, row.name
            elif row.name != "Held by":
                assert any(u in cell.text for u in (" bar", " s", " %")), row
    # The feed rises to 2.5 + 31.8 = 34.3 MPa.
    assert rows[0].cells[0].text.startswith("343.")


def _cell(window: DeskWindow, row: int, column: int) -> QTableWidgetItem:
    item = window.review.analysis.table.item(row, column)
    assert item is not None
    return item


def test_the_units_switch_in_figures_and_loadings(window: DeskWindow, qtbot: QtBot) -> None:
    QTest.mouseClick(window.unit_bar.buttons["psi"], Qt.MouseButton.LeftButton)
    assert " psi" in _cell(window, 0, 1).text()
    assert "psi" in window.review.analysis.title.text()
    assert window.review.strip.shown.pressure == "psi"


def test_a_click_on_a_figure_shows_the_samples_it_came_from(
    window: DeskWindow, qtbot: QtBot, opened: Opened
) -> None:
    table = window.review.analysis.table
    item = _cell(window, 0, 1)
    table.scrollToItem(item)
    QTest.mouseClick(
        table.viewport(), Qt.MouseButton.LeftButton, NO_KEY, table.visualItemRect(item).center()
    )
    settled = opened.figures.loadings[0].pumps[1].settled
    shown = window.review.picture.spans[0].window
    assert shown is not None
    assert shown == getattr(settled, "window", None)


def test_the_table_goes_to_the_clipboard(window: DeskWindow, qtbot: QtBot) -> None:
    QTest.mouseClick(window.review.analysis.copy, Qt.MouseButton.LeftButton)
    lines = QGuiApplication.clipboard().text().splitlines()
    assert lines[0] == "Figure\tPump 1\tPump 2"
    assert lines[1].startswith("Settled\t343.")


def test_a_file_that_is_no_trace_is_said_in_the_window(
    window: DeskWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    bad = tmp_path / "holiday.h5"
    bad.write_bytes(b"not a trace")
    window.open_trace(bad)
    qtbot.waitUntil(lambda: bool(window.review.notice.text), timeout=20_000)
    assert "holiday.h5" in window.review.notice.text
    QTest.keyClick(window, Qt.Key.Key_Escape)
    assert window.review.notice.text == ""


def test_what_is_drawn_holds_the_peak_of_the_trace(window: DeskWindow, trace: Trace) -> None:
    picture = window.review.picture
    picture.whole()
    line = picture.panes[0].lines.lines[0].data
    assert np.nanmax(line.y) == trace.series[1].values.max()
    box = picture.panes[0].box.viewRange()[1]
    assert box[1] >= trace.series[1].values.max()
