"""What the practice machine costs while the desk shows it: 1 kHz, a lever held, Live in sight.

Each thread's own processor time is taken, so that whatever else the computer does is left out.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from gaugebench.desk.memory import Memory
from gaugebench.desk.window import DeskWindow
from gaugebench.model.kit import Kit, kit_from
from gaugebench.simulate.visit import learner_kit
from tests.bench.conftest import Measured

pytestmark = [pytest.mark.bench, pytest.mark.timeout(300)]

RATE_HZ, SECONDS = 1000.0, 10.0


def kit() -> Kit:
    """The learner's kit at 1 kHz."""
    data = learner_kit().model_dump(by_alias=True, mode="json", exclude_none=True)
    data["source"][0]["options"]["rate_hz"] = RATE_HZ
    return kit_from(data)


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[DeskWindow]:
    memory = Memory(QSettings(str(tmp_path / "desk.ini"), QSettings.Format.IniFormat))
    memory.keep("folder", str(tmp_path))
    made = DeskWindow(memory)
    qtbot.addWidget(made)
    made.resize(1600, 900)
    made.connect_kit(kit())
    qtbot.waitUntil(lambda: made.feed is not None, timeout=60_000)
    made.tabs.setCurrentWidget(made.live)
    made.show()
    yield made
    made.close()


def test_the_machine_beside_the_desk(window: DeskWindow, qtbot: QtBot, measured: Measured) -> None:
    cab = window.live.side.cab
    QTest.mouseClick(cab.engine["high"], Qt.MouseButton.LeftButton)
    qtbot.wait(5000)
    lever = cab.levers["bucket"]
    lever.setFocus()
    QTest.keyPress(lever, Qt.Key.Key_Right)
    reader = next(t for t in threading.enumerate() if "board" in t.name)
    clocks = {
        "the practice machine's thread": time.pthread_getcpuclockid(reader.ident or 0),
        "the window's thread": time.CLOCK_THREAD_CPUTIME_ID,
        "all of the program": time.CLOCK_PROCESS_CPUTIME_ID,
    }
    began = {name: time.clock_gettime(clock) for name, clock in clocks.items()}
    feed, since = window.feed, time.monotonic()
    assert feed is not None
    first = feed.now_s()
    qtbot.wait(int(SECONDS * 1000))
    passed = time.monotonic() - since
    used = {name: time.clock_gettime(clock) - began[name] for name, clock in clocks.items()}
    rows = feed.window(0, passed).times
    rate = int((rows > first).sum()) / passed
    QTest.keyRelease(lever, Qt.Key.Key_Right)
    note = f"{rate:.0f} rows/s, bucket held against its stop, Live in sight"
    limits = {"the practice machine's thread": 25.0}
    for name, seconds in used.items():
        measured(f"{name}, of a core at 1 kHz", 100 * seconds / passed, "%",
                 limit=limits.get(name), note=note)  # fmt: skip
    assert rate > 0.9 * RATE_HZ, "the machine must keep up"
    assert used["the practice machine's thread"] / passed <= 0.25
