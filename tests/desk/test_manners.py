"""What holds for every widget of the window."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.desk.conftest import FakeFeed
from PySide6.QtCore import QAbstractItemModel, Qt
from PySide6.QtGui import QAction
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSpinBox,
    QComboBox,
    QHeaderView,
    QLineEdit,
    QMenuBar,
    QPlainTextEdit,
    QScrollBar,
    QTabBar,
    QWidget,
)
from pytestqt.qtbot import QtBot

from gaugebench.desk.memory import Memory
from gaugebench.desk.scale import TOUCH_MM, dots_per_mm
from gaugebench.desk.window import DeskWindow

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


def test_everything_that_is_pressed_is_twelve_millimetres(window: DeskWindow) -> None:
    least = math.floor(TOUCH_MM * dots_per_mm())
    for index in range(window.tabs.count()):
        window.tabs.setCurrentIndex(index)
        for widget in _controls(window):
            if widget.isVisible() and not isinstance(widget, QAbstractItemView):
                size = widget.size()
                assert min(size.width(), size.height()) >= least, (widget, size)
    bar = window.tabs.tabBar()
    assert bar.tabRect(0).height() >= least


def test_every_control_can_be_reached_with_the_keyboard(window: DeskWindow) -> None:
    unreachable = [w for w in _controls(window) if not w.focusPolicy() & Qt.FocusPolicy.TabFocus]
    assert not unreachable


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
