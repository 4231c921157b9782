"""What every test of the desk needs: leak gates, settings of its own, and a feed of arrays."""

from __future__ import annotations

import gc
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QObject, QSettings, QTimer
from PySide6.QtWidgets import QApplication

from gaugebench.desk.dress import wear
from gaugebench.desk.memory import Memory
from gaugebench.desk.theme import LIGHT
from gaugebench.desk.words import speak
from gaugebench.model.arrays import F64, U16
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.role import Role
from gaugebench.model.trace import Particulars, Series, Trace

ROLES = (
    "pilot", "pump1.main", "pump1.control", "pump2.main", "pump2.control", "engine.speed",
    "oil.temperature",
)  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    times: F64
    values: F64
    quality: U16


@dataclass(slots=True)
class RecordState:
    path: Path
    seconds: float = 12.0
    samples: int = 12_000
    free_bytes: int | None = 40_000_000_000
    hours_left: float | None = 300.0
    lost: int = 0
    trouble: str | None = None


@dataclass(slots=True)
class Health:
    name: str
    alive: bool = True
    said: str = ""
    advice: tuple[str, ...] = ()
    rate_hz: float = 200.0
    fault: Exception | None = None


@dataclass(slots=True)
class Stall:
    is_settled: bool = False
    held_s: float = 0.0
    highest_pa: float = 0.0


@dataclass
class FakeFeed:
    """A session fed from arrays; its clock is moved by hand."""

    streams: tuple[StreamSpec, ...]
    data: tuple[Window, ...]
    folder: Path
    simulated: bool = True
    kit: None = None
    clock_s: float = 0.0
    found: list[Mark] = field(default_factory=list)
    record_state: RecordState | None = None
    sealed: list[str] = field(default_factory=list)
    sources: list[Health] = field(default_factory=lambda: [Health("kit")])
    sealing_s: float = 0.0
    stall: Stall = field(default_factory=Stall)
    begun: list[Particulars | None] = field(default_factory=list)
    threads: list[str] = field(default_factory=list)
    ports_told: list[tuple[str, str]] = field(default_factory=list)

    def now_s(self) -> float:
        return self.clock_s

    def window(self, stream: int, seconds: float) -> Window:
        data = self.data[stream]
        low, high = np.searchsorted(data.times, (self.clock_s - seconds, self.clock_s))
        part = slice(int(low), int(high))
        return Window(data.times[part].copy(), data.values[part].copy(), data.quality[part].copy())

    def marks(self) -> tuple[Mark, ...]:
        return tuple(m for m in self.found if m.time_s <= self.clock_s)

    def add_mark(self, note: str) -> Mark:
        mark = Mark(
            f"note/{len(self.found)}", MarkKind.NOTE, self.clock_s, Standing.BY_HAND, note=note
        )
        self.found.append(mark)
        return mark

    def start_recording(
        self, particulars: Particulars | None = None, name: str | None = None
    ) -> None:
        self.threads.append(threading.current_thread().name)
        self.begun.append(particulars)
        self.record_state = RecordState(self.folder / "visit.h5")

    def stop_recording(self) -> Path:
        self.threads.append(threading.current_thread().name)
        time.sleep(self.sealing_s)
        self.record_state = None
        self.sealed.append("visit.h5")
        return self.folder / "visit.h5"

    def health(self) -> Sequence[Health]:
        return self.sources

    def use_port(self, source: str, port: str) -> None:
        self.ports_told.append((source, port))


def rate_and_values(seconds: float, rate: float, seed: int = 1) -> tuple[F64, F64]:
    """Times and plausible values (inside units) of ROLES: two stalls of both pumps."""
    rng = np.random.default_rng(seed)
    times = np.arange(int(seconds * rate)) / rate
    load = np.zeros_like(times)
    for start in (4.0, 14.0):
        rise = np.clip((times - start) / 0.15, 0, 1) * (times < start + 4.0)
        load = np.maximum(load, rise)
    noise = rng.normal(size=(len(times), len(ROLES)))
    columns = [
        np.full_like(times, 3.3e6),
        2.5e6 + 3.18e7 * load,
        3.3e6 - 2.6e6 * load,
        2.6e6 + 3.23e7 * load,
        3.3e6 - 2.5e6 * load,
        2100.0 - 60.0 * load,
        52.0 + 0.05 * times,
    ]
    scale = np.array([2e4, 1.2e5, 3e4, 1.2e5, 3e4, 3.0, 0.05])
    return times, np.column_stack(columns) + noise * scale


@pytest.fixture
def channels() -> tuple[Channel, ...]:
    return tuple(Channel(r, Role(r), Role(r).dimension) for r in ROLES)


@pytest.fixture
def make_feed(channels: tuple[Channel, ...], tmp_path: Path) -> Callable[..., FakeFeed]:
    """Makes a feed of `seconds` at `rate` Hz whose clock stands at `at_s`."""

    def make(seconds: float = 24.0, rate: float = 200.0, at_s: float = 20.0) -> FakeFeed:
        times, values = rate_and_values(seconds, rate)
        quality = np.zeros(values.shape, np.uint16)
        marks = [
            Mark("0/pump1/relief crack", MarkKind.RELIEF_CRACK, 4.14, Standing.FINAL, 1, 3.3e7),
            Mark(
                "1/pump2/relief crack", MarkKind.RELIEF_CRACK, 14.14, Standing.PROVISIONAL, 2, 3.3e7
            ),
        ]
        return FakeFeed(
            (StreamSpec("main", channels, rate),),
            (Window(times, values, quality),),
            tmp_path,
            clock_s=at_s,
            found=marks,
        )

    return make


@pytest.fixture
def feed(make_feed: Callable[..., FakeFeed]) -> FakeFeed:
    return make_feed()


@pytest.fixture
def trace(channels: tuple[Channel, ...]) -> Trace:
    times, values = rate_and_values(24.0, 200.0)
    quality = np.zeros(len(times), np.uint16)
    return Trace(
        tuple(
            Series(channel, times, values[:, i].copy(), quality)
            for i, channel in enumerate(channels)
        ),
        simulated=True,
        origin="made for a test",
        particulars=Particulars(machine="Kestrel 220", site="Quarry North"),
    )


@pytest.fixture
def memory(tmp_path: Path) -> Memory:
    return Memory(QSettings(str(tmp_path / "desk.ini"), QSettings.Format.IniFormat))


@pytest.fixture(autouse=True)
def desk_of_its_own(qapp: QApplication, tmp_path: Path) -> Iterator[None]:
    """Settings, language and look of this test alone."""
    QSettings.setDefaultFormat(QSettings.Format.IniFormat)
    QSettings.setPath(
        QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(tmp_path / "settings")
    )
    speak("en")
    wear(qapp, LIGHT)
    yield
    speak("en")


@pytest.fixture(autouse=True)
def no_leaks(qapp: QApplication, request: pytest.FixtureRequest) -> Iterator[None]:
    """Fail where a thread, a running timer or a top-level widget is left behind."""
    threads = set(threading.enumerate())
    widgets = {id(w) for w in qapp.topLevelWidgets()}
    timers = _Timers()
    qapp.installEventFilter(timers)
    # Widgets given to qtbot are closed by it, after this fixture unless it is asked for first.
    yield
    qapp.removeEventFilter(timers)
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    qapp.processEvents()
    gc.collect()
    left = [w for w in qapp.topLevelWidgets() if id(w) not in widgets and w.isVisible()]
    assert not left, f"top-level widgets left open: {left}"
    late = [t for t in threading.enumerate() if t not in threads]
    for thread in late:
        thread.join(2.0)
    alive = [t.name for t in late if t.is_alive()]
    assert not alive, f"threads left: {alive}"
    running = timers.running()
    assert not running, f"timers left running: {running}"


class _Timers(QObject):
    """Remembers every object that a timer event went to."""

    def __init__(self) -> None:
        super().__init__()
        self._seen: dict[int, QTimer] = {}

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802
        if event.type() == QEvent.Type.Timer and isinstance(watched, QTimer):
            self._seen[id(watched)] = watched
        return False

    def running(self) -> list[str]:
        import shiboken6

        return [
            t.objectName() or repr(t.parent())
            for t in self._seen.values()
            if shiboken6.isValid(t) and t.isActive()
        ]
