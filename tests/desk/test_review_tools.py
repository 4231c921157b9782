"""Cursors, marks, settings and replay of the Review place, worked with keys and mouse."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit
from pytestqt.qtbot import QtBot

from gaugebench.desk.memory import Memory
from gaugebench.desk.review import markbook
from gaugebench.desk.review.opened import Opened, prepare
from gaugebench.desk.review.player import Player
from gaugebench.desk.review.values import value_at
from gaugebench.desk.window import DeskWindow
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.trace import Series, Trace
from gaugebench.store.tracefile import TraceFile, write_trace

LEFT, NO_KEY = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier


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
    qtbot.wait(20)
    return made


def _pixel(window: DeskWindow, time_s: float, share_down: float = 0.5) -> QPoint:
    picture = window.review.picture
    box = picture.panes[0].box
    (_, (low, high)) = box.viewRange()
    scene = box.mapViewToScene(QPointF(time_s, high - share_down * (high - low)))
    return QPoint(picture.mapFromScene(scene))


def _text(window: DeskWindow, row: int, column: int) -> str:
    item = window.review.side.cursors.table.item(row, column)
    return item.text() if item is not None else ""


def test_two_cursors_tell_times_values_and_differences(
    window: DeskWindow, qtbot: QtBot, trace: Trace
) -> None:
    QTest.keyClick(window, Qt.Key.Key_C)
    cursors = window.review.cursors
    assert cursors.is_on
    viewport = window.review.picture.viewport()
    QTest.mouseClick(viewport, LEFT, NO_KEY, _pixel(window, 2.0))
    qtbot.waitUntil(lambda: abs(cursors.times[0] - 2.0) < 0.1, timeout=20_000)
    QTest.mouseClick(viewport, LEFT, NO_KEY, _pixel(window, 16.0))
    qtbot.waitUntil(lambda: abs(cursors.times[1] - 16.0) < 0.1, timeout=20_000)
    assert _text(window, 0, 0) == "Time"
    assert _text(window, 0, 3).endswith(" s")
    row = 2  # time, pilot, pump 1
    assert _text(window, row, 0) == "Pump 1"
    expected = value_at(trace.series[1], cursors.times[1]) - value_at(
        trace.series[1], cursors.times[0]
    )
    assert _text(window, row, 3) == window.units.shown.text(
        expected, trace.series[1].channel.dimension
    )
    QTest.mouseClick(window.unit_bar.buttons["MPa"], LEFT)
    assert _text(window, row, 3).endswith("MPa")
    QTest.keyClick(window, Qt.Key.Key_C)
    assert not cursors.is_on


def test_marks_are_added_noted_moved_deleted_and_every_step_undone(
    window: DeskWindow, qtbot: QtBot
) -> None:
    review = window.review
    before = review.edits.marks
    review.side.setCurrentWidget(review.side.marks)
    review.picture.go(6.0, 8.0)
    QTest.keyClick(window, Qt.Key.Key_M)
    assert len(review.edits.marks) == len(before) + 1
    key = review.side.marks.current
    assert key is not None
    added = markbook.find(review.edits.marks, key)
    assert added.time_s == pytest.approx(7.0)
    assert added.standing is Standing.BY_HAND
    _type(review.side.marks.text, "lever let go")
    QTest.mouseClick(review.side.marks.note_button, LEFT)
    assert markbook.find(review.edits.marks, key).note == "lever let go"
    review.picture.go(9.0, 11.0)
    QTest.mouseClick(review.side.marks.move_button, LEFT)
    assert markbook.find(review.edits.marks, key).time_s == pytest.approx(10.0)
    assert any(m.key == key for m in review.picture.panes[0].marks.marks)
    review.picture.setFocus()
    QTest.keyClick(window, Qt.Key.Key_Delete)
    assert review.edits.marks == before
    for _ in range(3):
        QTest.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert markbook.find(review.edits.marks, key).note == ""
    assert markbook.find(review.edits.marks, key).time_s == pytest.approx(7.0)
    both = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    for _ in range(3):
        QTest.keyClick(window, Qt.Key.Key_Z, both)
    assert review.edits.marks == before


def _type(line: QLineEdit, text: str) -> None:
    line.clear()
    QTest.keyClicks(line, text)


def test_figures_are_taken_anew_under_other_settings(
    window: DeskWindow, qtbot: QtBot, opened: Opened
) -> None:
    review = window.review
    form = review.side.settings
    review.side.setCurrentIndex(3)
    _type(form.settle, "10")
    QTest.mouseClick(form.apply_button, LEFT)
    qtbot.waitUntil(lambda: review.opened is not opened, timeout=20_000)
    assert review.opened is not None
    assert review.opened.figures.settings["settle_share"] == pytest.approx(0.1)
    assert review.side.currentWidget() is review.analysis
    _type(form.settle, "90")
    review.side.setCurrentIndex(3)
    QTest.mouseClick(form.apply_button, LEFT)
    assert "settings cannot be used" in review.notice.text


def test_a_replay_plays_steps_and_repeats(window: DeskWindow, qtbot: QtBot) -> None:
    review = window.review
    player = review.transport
    review.picture.go(2.0, 6.0)
    QTest.keyClick(window, Qt.Key.Key_Period)
    assert player.player.at_s == pytest.approx(0.1)
    player.speed.setCurrentIndex(player.speed.count() - 1)  # 20×
    QTest.keyClick(window, Qt.Key.Key_P)
    qtbot.waitUntil(lambda: player.player.at_s > 2.0, timeout=20_000)
    start, end = review.picture.view
    assert end - start == pytest.approx(4.0, rel=1e-3)
    QTest.keyClick(window, Qt.Key.Key_P)
    assert not player.player.is_playing
    stood = player.player.at_s
    qtbot.wait(80)
    assert player.player.at_s == stood


def test_marks_are_saved_in_the_trace(
    qtbot: QtBot, memory: Memory, trace: Trace, tmp_path: Path
) -> None:
    path = write_trace(trace, tmp_path / "visit.h5")
    window = DeskWindow(memory)
    qtbot.addWidget(window)
    window.show()
    window.open_trace(path)
    qtbot.waitUntil(lambda: window.review.opened is not None, timeout=20_000)
    window.review.add_mark("as found")
    QTest.keyClick(window, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: window.review.edits.are_kept, timeout=20_000)
    assert window.review.notice.text == ""
    assert "as found" in [m.note for m in TraceFile(path).trace().marks]
    window.close()


def test_the_player_loops_and_ends() -> None:
    player = Player(0.0, 10.0, 9.5)
    player.play()
    player.advance(1.0)
    assert (player.at_s, player.is_playing) == (10.0, False)
    player.loop = (2.0, 4.0)
    player.play()
    assert player.at_s == 2.0
    player.speed = 5.0
    player.advance(0.5)
    assert player.is_playing
    assert player.at_s == pytest.approx(2.5)
    player.step(-9.0)
    assert (player.at_s, player.is_playing) == (0.0, False)


def test_a_value_in_a_gap_is_none(trace: Trace) -> None:
    times = np.array([0.0, 0.01, 0.02, 1.0, 1.01])
    series = Series(trace.series[0].channel, times, np.arange(5.0), np.zeros(5, np.uint16))
    assert value_at(series, 0.011) == 1.0
    assert np.isnan(value_at(series, 0.5))
    assert np.isnan(value_at(series, 9.0))


def test_a_mark_that_is_not_there_is_an_error() -> None:
    marks = (Mark("a", MarkKind.NOTE, 1.0, Standing.BY_HAND),)
    with pytest.raises(KeyError):
        markbook.removed(marks, "b")


def test_roles_are_given_in_the_window(
    window: DeskWindow, qtbot: QtBot, trace: Trace, opened: Opened
) -> None:
    bare = replace(
        trace,
        series=tuple(replace(s, channel=replace(s.channel, role=None)) for s in trace.series),
    )
    review = window.review
    review.show_opened(prepare(bare))
    assert "under Roles" in review.analysis.title.text()
    form = review.side.roles
    review.side.setCurrentIndex(4)
    for name in ("pump1.main", "pump2.main"):
        box = form.boxes[name]
        assert box.currentData() is None
        box.setCurrentIndex(box.findData(name))
    QTest.mouseClick(form.apply_button, LEFT)
    qtbot.waitUntil(lambda: review.analysis.figures.loadings != (), timeout=20_000)
    assert review.opened is not None
    assert review.opened.trace.pumps == (1, 2)
    assert len(review.analysis.figures.loadings) == len(opened.figures.loadings)
    form.boxes["pilot"].setCurrentIndex(form.boxes["pilot"].findData("pump1.main"))
    QTest.mouseClick(form.apply_button, LEFT)
    qtbot.waitUntil(lambda: "two channels" in review.notice.text, timeout=20_000)
