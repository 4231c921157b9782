"""A day of eight channels at 1 kHz in Review: opened and moved about in without being read whole.

Takes some minutes and 3 GB in the temporary folder, nearly all of it to make the file.
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from gaugebench.desk.memory import Memory
from gaugebench.desk.window import DeskWindow
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.model.role import Role
from gaugebench.model.trace import Trace
from gaugebench.store.annexe import Annexe
from gaugebench.store.tracewriter import TraceWriter

if TYPE_CHECKING:
    from tests.bench.conftest import Measured

pytestmark = pytest.mark.bench

ROLES = (
    "pump1.main", "pump2.main", "pilot", "pump1.control", "pump2.control", "load_sense",
    "travel_pilot.left", "travel_pilot.right",
)  # fmt: skip
MINUTES = 24 * 60
ROWS = 60_000
LIMIT_MS = 16.0
MOST_MB = 400.0


def _minutes() -> list[np.ndarray[tuple[int, int], np.dtype[np.float64]]]:
    """Six minutes of a machine, in steps of a 16-bit converter: a stall of 4 s in each."""
    rng = np.random.default_rng(3)
    times = np.arange(ROWS) / 1000.0
    load = np.clip((times - 10) / 0.15, 0, 1) * (times < 14)
    made = []
    for _ in range(6):
        columns = []
        for place, role in enumerate(ROLES):
            is_high = "main" in role or role == "load_sense"
            top, step = (3.2e7, 6e7 / 65_536) if is_high else (3e6, 6e6 / 65_536)
            ripple = 0.004 * top * np.sin(times * (900 + 20 * place))
            values = 0.07 * top + 0.93 * top * load + ripple + 0.002 * top * rng.normal(size=ROWS)
            columns.append(np.round(values / step) * step)
        made.append(np.column_stack(columns))
    return made


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    path = tmp_path_factory.mktemp("day") / "day.h5"
    spec = StreamSpec("main", tuple(Channel(r, Role(r), Role(r).dimension) for r in ROLES), 1000.0)
    minutes, quality = _minutes(), np.zeros((ROWS, len(ROLES)), np.uint16)
    times = np.arange(ROWS) / 1000.0
    with TraceWriter(path, [spec], [False]) as writer:
        for minute in range(MINUTES):
            writer.append(0, 60.0 * minute + times, None, minutes[minute % 6], quality)
        writer.finish(Trace((), origin="made for a measurement", simulated=True), Annexe())
    yield path
    path.unlink()


def _resident_mb() -> float:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def test_a_day_opens_and_pans(day: Path, qtbot: QtBot, tmp_path: Path, measured: Measured) -> None:
    settings = QSettings(str(tmp_path / "desk.ini"), QSettings.Format.IniFormat)
    window = DeskWindow(Memory(settings))
    qtbot.addWidget(window)
    window.resize(1600, 900)
    window.show()
    window.tabs.build_all()
    review = window.review
    QApplication.processEvents()
    before = _resident_mb()
    start = time.perf_counter()
    window.open_trace(day)
    qtbot.waitUntil(lambda: review.opened is not None, timeout=60_000)
    QApplication.processEvents()
    opened = time.perf_counter() - start
    long = review.opened.long if review.opened is not None else None
    assert long is not None
    size = day.stat().st_size / 1e9
    note = f"file of {size:.1f} GB, {8 * ROWS * MINUTES / 1e6:.0f} M samples"
    measured("a day, opened to first drawn", opened, "s", note=note)

    def steps(view: tuple[float, float], by_s: float, count: int) -> list[float]:
        took = []
        for number in range(count):
            began = time.thread_time()
            review.picture.set_view(view[0] + number * by_s, view[1] + number * by_s)
            review.picture.viewport().update()
            QApplication.processEvents()
            took.append(1e3 * (time.thread_time() - began))
        return took

    end = 60.0 * MINUTES
    whole = steps((0.0, end), 0.0, 1) and steps((0.0, end - 100), 1.0, 40)
    refined = []
    panned: list[float] = []
    for at in (5_000.0, 40_000.0, 80_000.0):
        for seconds in (10.0, 300.0):
            start = time.perf_counter()
            review.picture.set_view(at, at + seconds)
            qtbot.waitUntil(lambda: window.workers.busy == 0 and not review.is_fetching)
            refined.append(time.perf_counter() - start)
            panned += steps((at, at + seconds), seconds / 50, 60)
            qtbot.waitUntil(lambda: window.workers.busy == 0 and not review.is_fetching)
    grown = _resident_mb() - before
    for name, took in (("full view", whole), ("panning 10 s and 300 s", panned)):
        note = f"95 %: {np.percentile(took, 95):.1f} ms, most {max(took):.1f} ms"
        measured(f"a day, {name}, median", float(np.median(took)), "ms", limit=LIMIT_MS, note=note)
    measured("a day, until refined", float(np.max(refined)), "s", note="the slowest of six")
    note = f"of which {long.memory_bytes / 1e6:.0f} MB lines"
    measured("a day, memory", grown, "MB", limit=MOST_MB, note=note)
    assert np.median(whole) <= LIMIT_MS
    assert np.median(panned) <= LIMIT_MS
    assert grown <= MOST_MB
    window.close()
