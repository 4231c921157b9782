"""Review and Side by side worked with keys and mouse over traces that were not made for the test.

Measured: pushes of a hydraulic ram (osrf/mbari_wec_gz, see tests/data/ram_bench). Simulated: the
sample traces of the invented machine, as found and as left.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QFileDialog, QLineEdit, QTableWidget, QWidget
from pytestqt.qtbot import QtBot

from gaugebench.desk.memory import Memory
from gaugebench.desk.review.importpane import ImportPane
from gaugebench.desk.review.opened import load
from gaugebench.desk.window import DeskWindow
from gaugebench.model.mark import Standing
from gaugebench.model.trace import Particulars
from gaugebench.quantity import Dimension
from gaugebench.store.tracefile import TraceFile

ROOT = Path(__file__).parents[2]
RAM = ROOT / "tests" / "data" / "ram_bench" / "last_pushes.exp.gz"
FOUND, LEFT_AS = (ROOT / "sample_traces" / f"{n}.csv.gz" for n in ("as_found", "as_left"))
LEFT, NO_KEY = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
WAIT = 60_000


@pytest.fixture
def window(qtbot: QtBot, memory: Memory) -> Iterator[DeskWindow]:
    made = DeskWindow(memory)
    qtbot.addWidget(made)
    made.resize(1600, 900)
    made.show()
    qtbot.waitExposed(made)
    yield made
    made.close()


def _drop(window: DeskWindow, path: Path) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    enter = QDragEnterEvent(QPoint(300, 300), Qt.DropAction.CopyAction, data, LEFT, NO_KEY)
    window.dragEnterEvent(enter)
    assert enter.isAccepted()
    window.dropEvent(QDropEvent(QPointF(300, 300), Qt.DropAction.CopyAction, data, LEFT, NO_KEY))


def _pick(box: QComboBox, value: object) -> None:
    row = box.findData(value)
    assert row >= 0, value
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Home)
    for _ in range(row):
        QTest.keyClick(box, Qt.Key.Key_Down)
    assert box.currentIndex() == row
    box.activated.emit(row)


def _read(window: DeskWindow, qtbot: QtBot, path: Path, roles: dict[str, str]) -> None:
    """Through the look at a text file, with the roles chosen in its table."""
    pane = window.review.opener.pane

    def is_open() -> bool:
        return window.review.opened is not None and window.review.opened.path == path

    qtbot.waitUntil(
        lambda: is_open() or (pane.seen is not None and pane.seen.path == path), timeout=WAIT
    )
    if is_open():
        return  # nothing was to be asked
    for column, role in roles.items():
        _set_role(pane, qtbot, column, role)
    qtbot.waitUntil(pane.read_button.isEnabled, timeout=WAIT)
    pane.read_button.setFocus()
    QTest.keyClick(pane.read_button, Qt.Key.Key_Space)
    qtbot.waitUntil(is_open, timeout=WAIT)


def _set_role(pane: ImportPane, qtbot: QtBot, column: str, role: str) -> None:
    before = pane.seen
    _pick(pane.table.roles[column], role)
    qtbot.waitUntil(lambda: pane.seen is not before, timeout=WAIT)


def _put_cursor(window: DeskWindow, qtbot: QtBot, time_s: float, near_s: float) -> None:
    QTest.mouseClick(window.review.picture.viewport(), LEFT, NO_KEY, _at(window, time_s))
    cursors = window.review.cursors
    qtbot.waitUntil(lambda: any(abs(time_s - t) < near_s for t in cursors.times), timeout=WAIT)


def _text(table: QTableWidget, row: int, column: int) -> str:
    item = table.item(row, column)
    return item.text() if item is not None else ""


def _row(table: QTableWidget, name: str) -> int:
    return next(r for r in range(table.rowCount()) if _text(table, r, 0) == name)


def _at(window: DeskWindow, time_s: float) -> QPoint:
    picture = window.review.picture
    box = picture.panes[0].box
    ((_, _), (low, high)) = box.viewRange()
    return QPoint(picture.mapFromScene(box.mapViewToScene(QPointF(time_s, (low + high) / 2))))


def _drag(qtbot: QtBot, where: QWidget, start: QPoint, end: QPoint) -> None:
    QTest.mousePress(where, LEFT, NO_KEY, start)
    for share in (0.3, 0.6, 1.0):
        QTest.mouseMove(where, start + (end - start) * share)
        qtbot.wait(15)
    QTest.mouseRelease(where, LEFT, NO_KEY, end)


def _type(line: QLineEdit, text: str) -> None:
    line.clear()
    QTest.keyClicks(line, text)


def test_a_measured_trace_is_worked_through(
    window: DeskWindow, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    review = window.review
    _drop(window, RAM)
    _read(window, qtbot, RAM, {"LowerHydPress": "pump1.main", "RPM": "engine.speed"})
    opened = review.opened
    assert opened is not None
    assert not opened.trace.simulated
    assert not window.simulated.isVisible()

    # The overview is the pushes; one is clicked, the next is stepped to.
    assert len(review.strip.loadings) == 5
    QTest.mouseClick(review.strip, LEFT, NO_KEY, review.strip.block(2).center().toPoint())
    assert "Loading 3 of 5" in review.analysis.title.text()
    QTest.keyClick(window, Qt.Key.Key_PageDown)
    assert review.analysis.current == 3
    QTest.mouseClick(window.unit_bar.buttons["psi"], LEFT)
    table = review.analysis.table
    settled = _text(table, _row(table, "Settled"), 1)
    # 2904 psi is the plateau that the data's own description gives for this push.
    assert float(settled.split()[0]) == pytest.approx(2904, rel=0.01)
    assert "±" in settled
    row = _row(table, "Control settled")
    assert _text(table, row, 1).startswith("—")  # absent, with its reason
    assert len(_text(table, row, 1)) > 10
    item = table.item(_row(table, "Settled"), 1)
    assert item is not None
    table.scrollToItem(item)
    QTest.mouseClick(table.viewport(), LEFT, NO_KEY, table.visualItemRect(item).center())
    assert review.picture.spans[0].window is not None

    # Whole, nearer, a drag, a box.
    QTest.keyClick(window, Qt.Key.Key_Home)
    whole = review.picture.view
    QTest.keyClick(window, Qt.Key.Key_Plus)
    nearer = review.picture.view
    assert nearer[1] - nearer[0] == pytest.approx((whole[1] - whole[0]) / 2)
    qtbot.wait(20)
    middle = _at(window, sum(nearer) / 2)
    _drag(qtbot, review.picture.viewport(), middle, middle + QPoint(-100, 0))
    assert review.picture.view[0] > nearer[0]
    QTest.keyClick(window, Qt.Key.Key_B)
    _drag(qtbot, review.picture.viewport(), middle - QPoint(90, 40), middle + QPoint(90, 40))
    boxed = review.picture.view
    assert boxed[1] - boxed[0] < 0.6 * (nearer[1] - nearer[0])
    QTest.keyClick(window, Qt.Key.Key_B)
    QTest.keyClick(window, Qt.Key.Key_Home)
    qtbot.wait(20)

    # Two cursors, with the difference for every channel.
    start, end = opened.span_s
    first, second = start + 0.3 * (end - start), start + 0.7 * (end - start)
    QTest.keyClick(window, Qt.Key.Key_C)
    for time_s in (first, second):
        _put_cursor(window, qtbot, time_s, 0.02 * (end - start))
    shown = review.side.cursors.table
    assert shown.rowCount() == 1 + len(opened.trace.series)
    between = review.cursors.times[1] - review.cursors.times[0]
    assert _text(shown, 0, 3) == window.units.shown.text(between, Dimension.TIME)
    QTest.keyClick(window, Qt.Key.Key_C)

    # A mark: set, noted, moved, deleted, and every step back and forth.
    before = review.edits.marks
    review.side.setCurrentWidget(review.side.marks)
    QTest.keyClick(window, Qt.Key.Key_M)
    _type(review.side.marks.text, "relief sings")
    QTest.mouseClick(review.side.marks.note_button, LEFT)
    review.picture.setFocus()
    QTest.keyClick(window, Qt.Key.Key_Plus)
    QTest.keyClick(window, Qt.Key.Key_Right, CTRL)
    QTest.mouseClick(review.side.marks.move_button, LEFT)
    noted = review.edits.marks
    review.picture.setFocus()
    QTest.keyClick(window, Qt.Key.Key_Delete)
    assert review.edits.marks == before
    for _ in range(4):
        QTest.keyClick(window, Qt.Key.Key_Z, CTRL)
    assert review.edits.marks == before
    for _ in range(3):
        QTest.keyClick(window, Qt.Key.Key_Z, CTRL | SHIFT)
    assert review.edits.marks == noted

    # Replay: a step, faster, pause, a stretch again and again.
    transport = review.transport
    QTest.keyClick(window, Qt.Key.Key_Period)
    QTest.keyClick(window, Qt.Key.Key_Period)
    QTest.keyClick(window, Qt.Key.Key_Comma)
    assert transport.player.at_s == pytest.approx(start + 0.1)
    assert [transport.speed.itemData(n) for n in (0, transport.speed.count() - 1)] == [0.1, 20.0]
    _pick(transport.speed, 20.0)
    QTest.keyClick(window, Qt.Key.Key_L)
    loop = transport.player.loop
    assert loop is not None
    assert loop == pytest.approx(review.picture.view)
    QTest.keyClick(window, Qt.Key.Key_P)
    qtbot.waitUntil(lambda: loop[0] + 0.05 < transport.player.at_s <= loop[1], timeout=WAIT)
    QTest.keyClick(window, Qt.Key.Key_P)
    assert not transport.player.is_playing

    # The table goes to the clipboard, marks and figures into a trace file, opened lately.
    review.side.setCurrentWidget(review.analysis)
    QTest.mouseClick(review.analysis.copy, LEFT)
    assert QGuiApplication.clipboard().text().splitlines()[0] == "Figure\tPump 1"
    kept = tmp_path / "pushes.h5"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(kept), ""))
    QTest.keyClick(window, Qt.Key.Key_S, CTRL)
    qtbot.waitUntil(lambda: review.opened is not None and review.opened.path == kept, timeout=WAIT)
    marks = TraceFile(kept).trace().marks
    assert "relief sings" in [m.note for m in marks if m.standing is Standing.BY_HAND]
    assert window.memory.recent == [kept, RAM]
    lately = [a.text() for a in window.menus._recent.actions()]
    assert lately == [str(kept), str(RAM)]
    window.menus._recent.actions()[1].trigger()
    _read(window, qtbot, RAM, {})  # read as it was read last


def test_as_found_and_as_left_stand_side_by_side(
    window: DeskWindow, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    compare = window.compare
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(FOUND), ""))
    QTest.keyClick(window, Qt.Key.Key_O, CTRL)
    _read(window, qtbot, FOUND, {})
    QTest.keyClick(window, Qt.Key.Key_4, Qt.KeyboardModifier.AltModifier)
    assert window.tabs.is_current("compare")
    # Two pumps of one trace first.
    one, two = (c.side for c in compare.sides)
    assert one is not None
    assert two is not None
    assert one.opened is two.opened
    assert one.pump != two.pump
    # Then last year's and now's.
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(LEFT_AS), ""))
    QTest.mouseClick(compare.sides[1].open_button, LEFT)
    qtbot.waitUntil(
        lambda: compare.sides[1].trace.text() == LEFT_AS.name or bool(compare.notice.text),
        timeout=WAIT,
    )
    assert compare.notice.text == ""
    _pick(compare.sides[1].pump, one.pump)
    table = compare.table
    row = _row(table, "Settled")
    values = [float(_text(table, row, c).split()[0].replace("−", "-")) for c in (1, 2, 3)]
    assert values[2] == pytest.approx(values[1] - values[0], abs=0.11)
    share = float(_text(table, row, 4).split()[0].replace("−", "-"))
    assert share == pytest.approx(100 * (values[1] / values[0] - 1), abs=0.05)
    assert "rpm" in _text(table, _row(table, "Engine"), 1)  # unlike speeds would be in sight
    assert _text(table, _row(table, "Oil"), 0) == "Oil"
    titles = [pane.spec.title for pane in compare.picture.panes]
    assert titles == ["Main", "Control", "B − A"]

    QTest.mouseClick(compare.stacked, LEFT)
    assert len(compare.picture.panes) == 5
    QTest.mouseClick(compare.stacked, LEFT)
    _pick(compare.anchor, compare.anchor.itemData(1))
    assert compare.notice.text == ""

    # Side B is dragged by a quarter of the picture, and nudged back a step.
    QTest.mouseClick(compare.drag_button, LEFT)
    picture = compare.picture
    low, high = picture.view
    box = picture.panes[0].box.sceneBoundingRect()
    middle = QPoint(picture.mapFromScene(box.center()))
    by = QPoint(int(box.width() / 4), 0)
    _drag(qtbot, picture.viewport(), middle, middle + by)
    moved = compare.sides[1].side
    assert moved is not None
    assert moved.nudge_s == pytest.approx((high - low) / 4, rel=0.02)
    assert compare.sides[1].nudge.text().startswith("+")
    QTest.mouseClick(compare.sides[1].earlier, LEFT)
    nudged = compare.sides[1].side
    assert nudged is not None
    assert nudged.nudge_s == pytest.approx(moved.nudge_s - 0.01)

    QTest.mouseClick(compare.copy_table, LEFT)
    lines = QGuiApplication.clipboard().text().splitlines()
    assert FOUND.name in lines[0]
    assert LEFT_AS.name in lines[0]
    QTest.mouseClick(compare.copy_picture, LEFT)
    assert not QGuiApplication.clipboard().image().isNull()
    target = tmp_path / "side by side.png"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(target), ""))
    QTest.mouseClick(compare.save_picture, LEFT)
    assert target.read_bytes().startswith(b"\x89PNG")


def test_a_long_title_gives_way_and_is_told_whole(window: DeskWindow, qtbot: QtBot) -> None:
    opened = load(FOUND)
    about = Particulars(machine="Kestrel 220", site="Quarry North, upper bench " * 8)
    trace = replace(opened.trace, particulars=about)
    path = FOUND.with_name("a name as loggers write them, " * 8 + ".h5")
    window.tabs.setCurrentWidget(window.review)
    window.review.show_opened(replace(opened, trace=trace, path=path))
    qtbot.waitUntil(lambda: window.review.title.width() > 0, timeout=WAIT)
    for label in (window.review.title, window.review.about):
        assert "…" in label.shown
        assert label.toolTip() == label.text()
    assert window.review.title.shown.endswith(".h5")
    assert window.width() == 1600
