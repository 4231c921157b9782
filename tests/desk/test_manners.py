"""What holds for every widget of the window."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.desk.conftest import FakeFeed
from PySide6.QtCore import QAbstractItemModel, Qt
from PySide6.QtGui import QAction, QFont
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QHeaderView,
    QLineEdit,
    QMenuBar,
    QPlainTextEdit,
    QPushButton,
    QScrollBar,
    QTabBar,
    QWidget,
)
from pytestqt.qtbot import QtBot

from gaugebench.desk.hookup.stages import Stage
from gaugebench.desk.memory import Memory
from gaugebench.desk.review.opened import prepare
from gaugebench.desk.scale import TOUCH_MM, dots_per_mm
from gaugebench.desk.window import DeskWindow
from gaugebench.model.trace import Trace

CONTROLS = (
    QAbstractButton, QComboBox, QLineEdit, QAbstractSpinBox, QAbstractItemView, QPlainTextEdit,
)  # fmt: skip


@pytest.fixture
def window(qtbot: QtBot, memory: Memory, feed: FakeFeed) -> DeskWindow:
    made = DeskWindow(memory)
    qtbot.addWidget(made)
    made.resize(1600, 900)
    made.attach(feed)
    made.show()
    made.tabs.build_all()
    qtbot.waitExposed(made)
    return made


def _controls(window: DeskWindow) -> list[QWidget]:
    found = [w for w in window.findChildren(QWidget) if isinstance(w, CONTROLS)]
    return [w for w in found if not isinstance(w, QHeaderView) and not _is_part(w)]


def _is_part(widget: QWidget) -> bool:
    """Whether Qt made it as a part of another control."""
    inside = widget.parent()
    while isinstance(inside, QWidget):
        if isinstance(inside, (*CONTROLS, QMenuBar, QTabBar, QScrollBar)):
            return True
        inside = inside.parent()
    return False


def test_every_control_has_a_name_for_those_who_hear(window: DeskWindow) -> None:
    nameless = [
        w
        for w in _controls(window)
        if not (w.accessibleName() or (isinstance(w, QAbstractButton) and w.text()))
    ]
    assert len(_controls(window)) > 20
    assert not nameless


def _sights(window: DeskWindow) -> Iterator[str]:
    """Every place, every step of Hook-up, every leaf of Review: all that can be in sight."""
    for index in range(window.tabs.count()):
        window.tabs.setCurrentIndex(index)
        place = window.tabs.tabText(index)
        if index == 0:
            for stage in Stage:
                window.hookup.show_stage(stage)
                window.hookup.pages.table.selectRow(1)
                yield f"{place}: {stage.value}"
        elif index == 2:
            for leaf in range(window.review.side.count()):
                window.review.side.setCurrentIndex(leaf)
                yield f"{place}: {leaf}"
        else:
            yield place


@pytest.fixture
def full(window: DeskWindow, trace: Trace) -> DeskWindow:
    """With a kit of two ports and a trace."""
    window.hookup.draft.add_source("text-lines", {"port": "/dev/ttyUSB0"}, 2)
    window.hookup.renew()
    window.review.show_opened(prepare(trace))
    return window


def test_everything_that_is_pressed_is_twelve_millimetres(full: DeskWindow, qtbot: QtBot) -> None:
    window, least = full, math.floor(TOUCH_MM * dots_per_mm())
    qtbot.waitUntil(lambda: window.hookup.pages.sources.form is not None, timeout=60_000)
    for sight in _sights(window):
        qtbot.wait(1)  # laid out
        for widget in _controls(window):
            if widget.isVisible() and not isinstance(widget, QAbstractItemView):
                size = widget.size()
                assert min(size.width(), size.height()) >= least, (sight, widget, size)
    bar = window.tabs.tabBar()
    assert bar.tabRect(0).height() >= least


def test_every_control_can_be_reached_with_the_keyboard(window: DeskWindow) -> None:
    unreachable = [w for w in _controls(window) if not w.focusPolicy() & Qt.FocusPolicy.TabFocus]
    assert not unreachable


def _tabbed(window: DeskWindow) -> list[QWidget]:
    """Where the Tab key leads, beginning with the tabs of the places, until it comes back."""
    start = window.tabs.tabBar()
    start.setFocus(Qt.FocusReason.TabFocusReason)
    seen: list[QWidget] = []
    for _ in range(400):
        now = window.focusWidget()
        assert now is not None
        if now in seen:
            break
        seen.append(now)
        QTest.keyClick(now, Qt.Key.Key_Tab)
    return seen


def _alike(widget: QWidget) -> list[QWidget]:
    """Buttons of which one alone is down: Tab leads to one of them, arrows to the others."""
    group = widget.group() if isinstance(widget, QAbstractButton) else None
    return list(group.buttons()) if group is not None and group.exclusive() else [widget]


def test_the_tab_key_leads_through_everything_in_sight_and_back(
    full: DeskWindow, qtbot: QtBot
) -> None:
    qtbot.waitUntil(lambda: full.hookup.pages.sources.form is not None, timeout=60_000)
    for sight in _sights(full):
        qtbot.wait(1)
        reached = _tabbed(full)
        assert len(reached) > 5, (sight, full.focusWidget(), reached)
        for widget in _controls(full):
            if widget.isVisible() and widget.isEnabled():
                is_reached = any(one in reached for one in _alike(widget))
                assert is_reached, (sight, widget, widget.accessibleName())


def test_focus_is_seen(full: DeskWindow, qtbot: QtBot) -> None:
    for _ in _sights(full):
        seen: set[type] = set()
        for widget in _controls(full):
            if not widget.isVisible() or not widget.isEnabled() or type(widget) in seen:
                continue
            seen.add(type(widget))
            full.tabs.tabBar().setFocus()
            before = widget.grab().toImage()
            widget.setFocus(Qt.FocusReason.TabFocusReason)
            if isinstance(widget, QLineEdit):
                widget.deselect()
            assert widget.grab().toImage() != before, widget


def test_text_scales_with_the_system_and_buttons_hold_their_words(
    qapp: QApplication, qtbot: QtBot, memory: Memory, feed: FakeFeed, trace: Trace
) -> None:
    usual = QFont(qapp.font())
    larger = QFont(usual)
    larger.setPointSizeF(1.3 * max(usual.pointSizeF(), 11.0))
    qapp.setFont(larger)
    try:
        window = DeskWindow(memory)
        qtbot.addWidget(window)
        window.resize(1600, 900)
        window.attach(feed)
        window.show()
        window.tabs.build_all()
        window.review.show_opened(prepare(trace))
        assert window.hookup.font().pointSizeF() == pytest.approx(larger.pointSizeF())
        for sight in _sights(window):
            qtbot.wait(1)
            for widget in window.findChildren(QPushButton):
                if widget.isVisible() and widget.text():
                    words = widget.fontMetrics().boundingRect(widget.text()).size()
                    assert words.width() <= widget.width(), (sight, widget.text())
                    assert words.height() <= widget.height(), (sight, widget.text())
        window.close()
    finally:
        qapp.setFont(usual)


def test_no_key_is_given_twice_in_one_place(window: DeskWindow) -> None:
    for index in range(window.tabs.count()):
        window.tabs.setCurrentIndex(index)
        keys = [
            a.shortcut().toString()
            for a in window.findChildren(QAction)
            if a.isEnabled() and not a.shortcut().isEmpty()
        ]
        assert len(keys) == len(set(keys))


def test_units_and_place_are_remembered(window: DeskWindow, memory: Memory, qtbot: QtBot) -> None:
    QTest.mouseClick(window.unit_bar.buttons["psi"], Qt.MouseButton.LeftButton)
    window.close()
    again = DeskWindow(memory)
    qtbot.addWidget(again)
    assert again.units.shown.pressure == "psi"
    assert memory.place is not None
    again.close()


def test_full_screen_and_escape(window: DeskWindow, qtbot: QtBot) -> None:
    QTest.keyClick(window, Qt.Key.Key_F11)
    assert window.isFullScreen()
    QTest.keyClick(window, Qt.Key.Key_Escape)
    assert not window.isFullScreen()


def test_a_table_model_is_there_for_the_figures(window: DeskWindow) -> None:
    assert isinstance(window.review.analysis.table.model(), QAbstractItemModel)
