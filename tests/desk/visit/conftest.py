"""A technician at the desk with the practice machine, on a clock that moves when he lets it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QCheckBox,
    QComboBox,
    QLineEdit,
    QTableWidget,
    QWidget,
)
from pytestqt.qtbot import QtBot

from gaugebench.desk.hookup.stages import Stage
from gaugebench.desk.memory import Memory
from gaugebench.desk.window import DeskWindow
from gaugebench.desk.worksheet.place import WorksheetPlace
from gaugebench.model.role import Role
from gaugebench.procedure.state import JobState
from gaugebench.simulate.moves import Script
from gaugebench.simulate.plant import BAR, Plant
from gaugebench.simulate.source import DRIVER, MachineSource
from gaugebench.simulate.visit import WORKING_DAY_S

PATIENCE_MS = 120_000
STEP_S = 0.25
FRAME_MS = 400
"""Live is drawn so seldom: the machine runs faster than anybody could look."""


class StepClock:
    """Stands until it is moved; who sleeps on it looks up now and then, so that he can be ended."""

    def __init__(self) -> None:
        self._now = 0.0
        self._moved = threading.Condition()

    def now(self) -> float:
        return self._now

    def sleep(self, seconds: float) -> None:
        with self._moved:
            until = self._now + seconds
            self._moved.wait_for(lambda: self._now >= until, timeout=0.05)

    def move(self, seconds: float) -> None:
        with self._moved:
            self._now += seconds
            self._moved.notify_all()


def sick() -> Plant:
    """Main relief 1 low, the cut-off of pump 2 high, the port relief of travel left low.

    Bucket and arm stand near their ends, so that the lever soon finds the stop.
    """
    plant = Plant().with_function("travel left", port_a=282 * BAR)
    plant = plant.with_function("bucket", start=1.05).with_function("arm", start=1.40)
    one, two = plant.reliefs
    left, right = plant.cutoffs
    return replace(
        plant,
        reliefs=(replace(one, crack=295 * BAR), two),
        cutoffs=(left, replace(right, start=331 * BAR)),
    )


class Technician:
    """What he does: presses, types, chooses, holds levers; and lets time pass."""

    def __init__(self, window: DeskWindow, clock: StepClock, qtbot: QtBot) -> None:
        self.window, self.clock, self.qtbot = window, clock, qtbot
        self.rest = timedelta()
        """Breaks in which the machine stands idle and nobody looks."""

    def now(self) -> datetime:
        """Wall time."""
        began = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
        return began + timedelta(seconds=self.clock.now()) + self.rest

    @property
    def place(self) -> WorksheetPlace:
        return self.window.worksheet

    @property
    def state(self) -> JobState:
        assert self.place.job.sheet is not None
        return self.place.job.sheet.state

    @property
    def machine(self) -> MachineSource:
        assert DRIVER.by_hand is not None
        return DRIVER.by_hand

    def until(self, condition: Callable[[], bool]) -> None:
        self.qtbot.waitUntil(condition, timeout=PATIENCE_MS)

    def press(self, button: QAbstractButton) -> None:
        self.show(button)
        self.until(button.isEnabled)
        at = button.rect().center()
        if isinstance(button, QCheckBox):
            at.setX(10)  # only its mark and its text can be hit
        QTest.mouseClick(button, Qt.MouseButton.LeftButton, pos=at)

    def write(self, line: QLineEdit, text: str) -> None:
        self.show(line)
        line.setFocus()
        line.selectAll()
        QTest.keyClick(line, Qt.Key.Key_Delete)
        QTest.keyClicks(line, text)

    def pick(self, box: QComboBox, text: str) -> None:
        """Choose by the keyboard, as one types the beginning of an entry."""
        self.show(box)
        wanted = box.findText(text)
        assert wanted >= 0, f"{text!r} is not offered"
        box.setFocus()
        QTest.keyClick(box, Qt.Key.Key_Home)
        for _ in range(wanted):
            QTest.keyClick(box, Qt.Key.Key_Down)
        assert box.currentText() == text

    def take_row(self, table: QTableWidget, row: int) -> None:
        """Choose a row with the mouse."""
        self.show(table)
        item = table.item(row, 0)
        assert item is not None
        table.scrollToItem(item)
        at = table.visualItemRect(item).center()
        QTest.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, pos=at)
        assert table.currentRow() == row

    def take_check(self, key: str) -> None:
        """Choose a check in the worksheet."""
        rows = [r.key for r in self.place.checks.rows]
        self.take_row(self.place.checks.table, rows.index(key))

    def show(self, widget: QWidget) -> None:
        """Bring the place and the pane of a widget to the front."""
        window = self.window
        tabs = [window.tabs, self.place.panes, window.live.side]
        for each in tabs:
            for n in range(each.count()):
                page = each.widget(n)
                if page is not None and page.isAncestorOf(widget):
                    each.setCurrentIndex(n)
        assert widget.isVisible(), widget

    def run(self, seconds: float) -> None:
        """Let the machine and the kit run on, and wait until all of it was heard."""
        feed = self.window.feed
        assert feed is not None
        for _ in range(max(1, round(seconds / STEP_S))):
            self.clock.move(STEP_S)
            self.until(self._has_heard)

    def _has_heard(self) -> bool:
        """Whether the newest sample is of now."""
        feed = self.window.feed
        assert feed is not None
        times = feed.window(0, 0.5).times
        return len(times) > 0 and float(times[-1]) >= feed.now_s() - 0.03

    def rest_s(self, seconds: float) -> None:
        """A break."""
        self.rest += timedelta(seconds=seconds)
        self.place.renew()

    def connect(self) -> None:
        """Open the practice kit on the sick machine, its engine stopped, and take its zeros."""
        pages = self.window.hookup.pages
        self.press(pages.kit.practise_button)
        self.until(lambda: self.window.feed is not None)
        self._carry_over()
        self.run(4.0)
        self.window.tabs.setCurrentWidget(self.window.hookup)
        first = self.window.feed
        self.press(pages.connecting.zero_button)
        self.until(lambda: self.window.feed not in (None, first))
        self._carry_over()
        self.run(4.5)
        self.until(lambda: len(self.window.hookup.visit.zeros) == 5)

    def _carry_over(self) -> None:
        self.machine.begin(Script(WORKING_DAY_S, plant=sick(), engine_rpm=0.0))

    def check_ports(self) -> None:
        """The wrong-port check at low idle."""
        self.press(self.window.live.side.cab.engine["low"])
        self.run(4.0)
        pages = self.window.hookup.pages
        self.press(pages.bar.buttons[Stage.PORTS])
        self.press(pages.ports.wrong_button)
        assert "Every port reads as" in pages.ports.wrong_said.text()

    def let_go_of_the_kit(self) -> None:
        """Engine off, the zeros once more, and the kit let go."""
        self.press(self.window.live.side.cab.engine["off"])
        self.run(5.0)
        pages = self.window.hookup.pages
        self.press(pages.bar.buttons[Stage.RELEASE])
        self.press(pages.release.zero_button)
        assert len(self.window.hookup.visit.zeros) == 10
        self.press(pages.release.disconnect_button)
        self.until(lambda: self.window.feed is None and not self.window.workers.busy)

    def under_load(self) -> None:
        status = self.place.status
        self.press(status.hands_button)
        self.write(status.clear_name, "R. Okonjo")
        self.press(status.clear_button)
        self._let_live_know()

    def hands_in(self) -> None:
        self.press(self.place.status.hands_button)
        self._let_live_know()

    def _let_live_know(self) -> None:
        """The levers come and go with the state of the work."""
        self.window.tabs.setCurrentWidget(self.window.live)
        self.window.live.side.renew(self.window.live.leader.work, self.window.units.shown)

    def hold(self, function: str, seconds: float = 2.0) -> None:
        """Hold a lever fully over with its key, after the rest that the heat budget asks for."""
        self.rest_s(35.0)
        lever = self.window.live.side.cab.levers[function]
        self.show(lever)
        assert lever.isEnabled(), function
        lever.setFocus()
        QTest.keyPress(lever, Qt.Key.Key_Right)
        self.run(seconds)

    def let_go(self, function: str, seconds: float = 1.5) -> None:
        lever = self.window.live.side.cab.levers[function]
        QTest.keyRelease(lever, Qt.Key.Key_Right)
        assert lever.value() == 0
        self.run(seconds)

    def capture(self, key: str) -> None:
        """Read the check off Live, as found or as left, whichever stands."""
        self.take_check(key)
        live = self.window.live
        self.press(live.bar.capture_buttons[self.state.phase])
        assert not live.notice.isVisible(), f"{key}: {live.notice.text}"

    def reading(self, role: str) -> float:
        """What the kit reads now, bar."""
        feed = self.window.feed
        assert feed is not None
        window = feed.window(0, 0.5)
        roles = [c.role for c in feed.streams[0].channels]
        return float(window.values[:, roles.index(Role.parse(role))].mean()) / BAR

    def record(self) -> None:
        live = self.window.live
        self.press(live.bar.record_button)
        self.until(live.bar.stop_button.isEnabled)

    def stop(self) -> None:
        """Seal the record, and wait until the worksheet has gone through it."""
        feed, known = self.window.feed, len(self.state.traces)
        assert feed is not None
        self.rest_s(1.0)  # a record is named after its second
        self.press(self.window.live.bar.stop_button)
        self.until(lambda: len(self.state.traces) > known and not self.place.job.following)

    def accept(self, check: str, which: int = 0) -> None:
        """Take the offer that fits this check; of several, the one in that place."""
        queue = self.place.queue
        rows = [n for n, w in enumerate(queue.queue) if check in dict(w.choices)]
        self.take_row(queue.table, rows[which])
        self.pick(queue.choice, dict(queue.queue[rows[which]].choices)[check])
        self.press(queue.accept_button)

    def drop_rest(self) -> None:
        queue = self.place.queue
        while queue.queue:
            left = len(queue.queue)
            self.write(queue.why, "read off Live already")
            self.press(queue.drop_button)
            assert len(queue.queue) == left - 1, self.place.notice.text


@pytest.fixture
def technician(
    qtbot: QtBot, memory: Memory, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Technician]:
    """At a window with a folder of its own."""
    clock = StepClock()
    monkeypatch.setattr("gaugebench.session.session.SystemClock", lambda: clock)
    monkeypatch.setattr("gaugebench.desk.live.place.FRAME_MS", FRAME_MS)
    memory.keep("folder", str(tmp_path / "records"))
    window = DeskWindow(memory)
    qtbot.addWidget(window)
    window.resize(1280, 720)
    window.show()
    qtbot.waitExposed(window)
    made = Technician(window, clock, qtbot)
    window.worksheet.job.now = made.now
    yield made
    window.close()
