"""Records that a crash left behind are told at the start and finished off the window's thread."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QMessageBox
from pytestqt.qtbot import QtBot

from gaugebench.desk.memory import Memory
from gaugebench.desk.window import DeskWindow
from gaugebench.model.block import Block
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.model.event import Setup
from gaugebench.model.role import Role
from gaugebench.model.trace import Particulars
from gaugebench.store.disk import RealDisk
from gaugebench.store.journal import JournalWriter
from gaugebench.store.names import journal_of
from gaugebench.store.payload import encode

LEFT = Qt.MouseButton.LeftButton


def _leave_behind(target: Path, machine: str) -> JournalWriter:
    """A journal of 2 s that nobody sealed; it is held until its writer lets go."""
    role = Role("pump1.main")
    stream = StreamSpec("main", (Channel("P1", role, role.dimension),), 100.0)
    setup = Setup(
        (stream,),
        datetime(2026, 2, 3, 10, 15, tzinfo=UTC),
        particulars=Particulars(machine=machine),
        simulated=True,
    )
    target.parent.mkdir(parents=True, exist_ok=True)
    journal = JournalWriter(journal_of(target), setup, RealDisk())
    times = np.arange(200) / 100.0
    raw = np.full((200, 1), 2.0e6)
    block = Block(0, 0, times, raw, np.zeros((200, 1), np.uint16))
    journal.append([journal.pack(*encode(block))])
    journal.sync()
    return journal


@pytest.fixture
def window(qtbot: QtBot, memory: Memory, tmp_path: Path) -> Iterator[DeskWindow]:
    memory.keep("folder", str(tmp_path / "records"))
    made = DeskWindow(memory)
    qtbot.addWidget(made)
    made.show()
    yield made
    made.close()


def test_left_over_records_are_told_and_finished(
    window: DeskWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(QMessageBox, "exec", lambda *_: pytest.fail("a box was opened"))
    for name, machine in (("first", "Marten 21"), ("second", "")):
        journal = _leave_behind(window.folder / f"{name}.h5", machine)
        journal.close()
        journal.release()
    strip = window.leftovers
    assert not strip.isVisible()
    strip.look(window.folder)
    qtbot.waitUntil(strip.isVisible, timeout=60_000)
    assert "2 records were never finished" in strip.text.text()
    assert "first: Marten 21, 2026-02-03 10:15, 2 s" in strip.text.text()
    assert "second: machine not named" in strip.text.text()
    assert not (window.folder / "first.h5").exists()  # nothing is done without being asked for
    QTest.mouseClick(strip.finish_button, LEFT)
    assert strip.progress.isVisible()
    assert strip.isEnabled()
    qtbot.waitUntil(strip.open_button.isVisible, timeout=60_000)
    assert (window.folder / "first.h5").is_file()
    assert (window.folder / "second.h5").is_file()
    assert not list(window.folder.glob("*.journal"))
    QTest.mouseClick(strip.open_button, LEFT)
    qtbot.waitUntil(lambda: window.review.opened is not None, timeout=60_000)
    opened = window.review.opened
    assert opened is not None
    assert opened.path == window.folder / "second.h5"
    assert not strip.isVisible()


def test_a_record_that_another_program_writes_is_told_and_left_alone(
    window: DeskWindow, qtbot: QtBot
) -> None:
    journal = _leave_behind(window.folder / "running.h5", "Marten 21")
    try:
        window.leftovers.look(window.folder)
        qtbot.waitUntil(window.leftovers.isVisible, timeout=60_000)
        assert "held by" in window.leftovers.text.text()
        assert not window.leftovers.finish_button.isVisible()
    finally:
        journal.close()
        journal.release()


def test_one_that_cannot_be_read_is_said_and_keeps_no_other_from_it(
    window: DeskWindow, qtbot: QtBot
) -> None:
    (window.folder / "broken.journal").mkdir(parents=True)
    journal = _leave_behind(window.folder / "whole.h5", "Marten 21")
    journal.close()
    journal.release()
    strip = window.leftovers
    strip.look(window.folder)
    qtbot.waitUntil(strip.isVisible, timeout=60_000)
    assert "broken:" in strip.text.text()
    QTest.mouseClick(strip.finish_button, LEFT)
    qtbot.waitUntil(strip.open_button.isVisible, timeout=60_000)
    assert (window.folder / "whole.h5").is_file()
    assert (window.folder / "broken.journal").is_dir()


def test_nothing_left_over_shows_nothing(window: DeskWindow, qtbot: QtBot) -> None:
    window.leftovers.look(window.folder)
    qtbot.waitUntil(lambda: window.workers.busy == 0, timeout=60_000)
    assert not window.leftovers.isVisible()
