"""A window at its worksheet, with a clock that is moved by hand and a folder of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QLineEdit, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from gaugebench.desk.memory import Memory
from gaugebench.desk.window import DeskWindow
from gaugebench.desk.worksheet.place import WorksheetPlace


class HandClock:
    """Wall time that stands until it is moved."""

    def __init__(self) -> None:
        self.at = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.at

    def pass_s(self, seconds: float) -> None:
        self.at += timedelta(seconds=seconds)


class Bench:
    """What a technician does at the worksheet: presses and types."""

    def __init__(self, window: DeskWindow, clock: HandClock) -> None:
        self.window, self.clock = window, clock

    @property
    def place(self) -> WorksheetPlace:
        return self.window.worksheet

    def press(self, button: QPushButton) -> None:
        assert button.isEnabled(), button.text()
        self.show(button)
        QTest.mouseClick(button, Qt.MouseButton.LeftButton)

    def write(self, line: QLineEdit, text: str) -> None:
        self.show(line)
        line.setFocus()
        line.selectAll()
        QTest.keyClick(line, Qt.Key.Key_Delete)
        QTest.keyClicks(line, text)

    def pick(self, box: QComboBox, text: str) -> None:
        """Choose with the keyboard."""
        self.show(box)
        wanted = box.findText(text)
        assert wanted >= 0, f"{text!r} is not offered"
        box.setFocus()
        QTest.keyClick(box, Qt.Key.Key_Home)
        for _ in range(wanted):
            QTest.keyClick(box, Qt.Key.Key_Down)
        assert box.currentText() == text

    def say_all(self, line: QLineEdit, *texts: str) -> None:
        """Type texts one after the other, each ended by Return, as one enters repeats."""
        for text in texts:
            self.write(line, text)
            QTest.keyClick(line, Qt.Key.Key_Return)

    def show(self, widget: QWidget) -> None:
        """Bring the pane of a widget to the front."""
        for tabs in (self.place.panes, self.place.moving.forms):
            for n in range(tabs.count()):
                pane = tabs.widget(n)
                if pane is not None and pane.isAncestorOf(widget):
                    tabs.setCurrentIndex(n)
        assert widget.isVisible()

    def practise(self) -> None:
        """Start a job on the invented machine."""
        self.press(self.place.form.practise_button)

    def read(self, check: str, value: str, spread: str) -> None:
        """Enter a reading by hand."""
        checks = self.place.checks
        checks.choose(check)
        self.write(checks.value, value)
        self.write(checks.spread, spread)
        QTest.keyClick(checks.spread, Qt.Key.Key_Return)

    def row(self, check: str) -> list[str]:
        """The texts of a check's row."""
        checks = self.place.checks
        index = [r.key for r in checks.rows].index(check)
        items = [checks.table.item(index, c) for c in range(checks.table.columnCount())]
        return [item.text() if item else "" for item in items]

    def under_load(self) -> None:
        """Switch, and confirm by name."""
        status = self.place.status
        self.press(status.hands_button)
        self.write(status.clear_name, "R. Okonjo")
        self.press(status.clear_button)


@pytest.fixture
def make_bench(qtbot: QtBot, memory: Memory, tmp_path: Path) -> Iterator[Callable[[], Bench]]:
    """Makes windows at the worksheet; each is closed at the end."""
    memory.keep("folder", str(tmp_path / "records"))
    made: list[DeskWindow] = []

    def make() -> Bench:
        window, clock = DeskWindow(memory), HandClock()
        made.append(window)
        qtbot.addWidget(window)
        window.resize(1600, 900)
        window.tabs.setCurrentWidget(window.worksheet)
        window.worksheet.job.now = clock
        window.show()
        qtbot.waitExposed(window)
        return Bench(window, clock)

    yield make
    for window in made:
        window.close()


@pytest.fixture
def bench(make_bench: Callable[[], Bench]) -> Bench:
    return make_bench()
