"""Live in real time for as long as is asked: memory once the ring is full, and what is left behind.

`GAUGEBENCH_SOAK_S` sets how long it runs once the ring is full: 60 s by default, 1800 for the soak
of half an hour. The ring is kept at 20 s here, so that it is full before memory is compared;
every second of samples goes through drivers, ring, marks, picture and readouts all the same.
"""

from __future__ import annotations

import gc
import os
import threading
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QTimer
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

import gaugebench.session.live
from gaugebench.desk.memory import Memory
from gaugebench.desk.window import DeskWindow
from gaugebench.session.session import Session
from tests.bench.test_acquire import ROLES, Peer, kit

if TYPE_CHECKING:
    from tests.bench.conftest import Measured

pytestmark = pytest.mark.bench

RING_S = 20.0
RATE = 1000.0
SOAK_S = float(os.environ.get("GAUGEBENCH_SOAK_S", "60"))
LIMIT_MB = 5.0


def resident_mb() -> float:
    """What the process holds in memory now."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


@pytest.mark.timeout(SOAK_S + 300)
def test_soak_in_real_time(
    qtbot: QtBot,
    qapp: QApplication,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    measured: Measured,
) -> None:
    monkeypatch.setattr(gaugebench.session.live, "RING_S", RING_S)
    monkeypatch.setenv("HOME", str(tmp_path))
    threads = set(threading.enumerate())
    widgets = {id(w) for w in qapp.topLevelWidgets()}
    peer = Peer("frames", RATE, SOAK_S + 2 * RING_S)
    made = kit("framed-binary", peer.port, RATE, ROLES)
    source = made.source[0].model_copy(update={"name": "bench"})
    session = Session(made.model_copy(update={"source": (source,)}), tmp_path)
    window = DeskWindow(Memory())
    window.resize(1600, 900)
    window.show()
    with peer.running() as process:
        session.open()
        window.attach(session)
        window.tabs.setCurrentWidget(window.live)
        qtbot.wait(int(1000 * (RING_S + 10.0)))
        gc.collect()
        before, frames = resident_mb(), window.live._frame
        qtbot.wait(int(1000 * SOAK_S))
        gc.collect()
        grown, drawn = resident_mb() - before, window.live._frame - frames
        rows = session.health()[0].rows
        marks = len(session.marks())
        window.close()
        session.close()
        process.kill()
    peer.close()
    window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    qapp.processEvents()
    left = [w for w in qapp.topLevelWidgets() if id(w) not in widgets and w.isVisible()]
    alive = [t.name for t in set(threading.enumerate()) - threads if t.is_alive()]
    running = [t for w in qapp.topLevelWidgets() for t in w.findChildren(QTimer) if t.isActive()]
    name = f"live in real time, 8 × 1 kHz, {SOAK_S:.0f} s after the ring was full"
    note = f"{rows} rows, {marks} marks, {drawn / SOAK_S:.1f} pictures a second"
    measured(f"{name}: memory growth", grown, "MB", limit=LIMIT_MB, note=note)
    measured(f"{name}: threads left", len(alive), "", limit=0)
    measured(f"{name}: timers left", len(running), "", limit=0)
    measured(f"{name}: windows left", len(left), "", limit=0)
    assert drawn > SOAK_S  # it did draw
    assert grown < LIMIT_MB
    assert (alive, running, left) == ([], [], [])
