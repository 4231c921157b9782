"""What reading costs and how long a sample takes, from a paced peer over a pseudo-terminal."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
import tty
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
import serial

from gaugebench.acquire.acquisition import Acquisition
from gaugebench.acquire.clock import SystemClock
from gaugebench.acquire.ring import Ring
from gaugebench.model.block import Block
from gaugebench.model.kit import Kit, kit_from
from gaugebench.session.session import Session

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from gaugebench.model.event import Event
    from tests.bench.conftest import Measured

pytestmark = pytest.mark.bench
PEER = Path(__file__).with_name("paced_peer.py")
COLUMNS = 8


class Peer:
    """The paced peer, running."""

    def __init__(self, kind: str, rate_hz: float, seconds: float) -> None:
        self._master, slave = os.openpty()
        tty.setraw(slave)
        self.port = os.ttyname(slave)
        self._slave = slave
        self.command = [
            sys.executable, str(PEER), str(self._master), kind, str(rate_hz), str(COLUMNS),
            str(seconds),
        ]  # fmt: skip

    @contextmanager
    def running(self) -> Iterator[subprocess.Popen[bytes]]:
        """Start it; `ended` waits for it."""
        with subprocess.Popen(
            self.command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            pass_fds=[self._master],
        ) as process:
            yield process
            assert process.stdin is not None
            process.stdin.close()

    def close(self) -> None:
        """Take the line away."""
        os.close(self._master)
        os.close(self._slave)


def ended(process: subprocess.Popen[bytes]) -> tuple[int, int]:
    """Rows sent and rows that the line did not take."""
    assert process.stdout is not None
    sent, lost = process.stdout.readline().split()
    return int(sent), int(lost)


ROLES = (
    "pump1.main", "pump2.main", "pump1.control", "pump2.control", "pilot", "psv.pressure",
    "load_sense", "return.pressure",
)  # fmt: skip


def kit(driver: str, port: str, rate_hz: float, roles: tuple[str, ...] = ()) -> Kit:
    options: dict[str, object] = {"port": port, "rate_hz": rate_hz}
    if driver == "text-lines":
        options["time"] = "t"
    channels: list[dict[str, object]] = [
        {"input": f"A{n}", "name": f"A{n}", "signal": "0-10 V", "range": ["0 bar", "600 bar"]}
        for n in range(COLUMNS)
    ]
    if roles:
        more = {"scale": 1 / 3000}
        channels = [c | more | {"role": r} for c, r in zip(channels, roles, strict=True)]
    return kit_from(
        {"schema": 1, "source": [{"driver": driver, "options": options, "channel": channels}]}
    )


def raw_cost(kind: str, rate_hz: float, seconds: float) -> float:
    """Share of a core that reading the same bytes with pyserial alone takes."""
    peer = Peer(kind, rate_hz, seconds)
    stop = threading.Event()
    total = 0

    def read() -> None:
        nonlocal total
        with serial.Serial(peer.port, timeout=0.1) as port:
            while not stop.is_set():
                total += len(port.read(max(1, port.in_waiting)))
                time.sleep(0.005)

    with peer.running() as process:
        thread = threading.Thread(target=read)
        thread.start()
        time.sleep(0.5)
        before = time.process_time()
        time.sleep(seconds - 1.0)
        cost = (time.process_time() - before) / (seconds - 1.0)
        ended(process)
        stop.set()
        thread.join()
    peer.close()
    assert total > 0
    return cost


@pytest.mark.parametrize(
    ("driver", "kind", "rate_hz", "limit"),
    [("framed-binary", "frames", 10_000.0, 35.0), ("text-lines", "text", 1000.0, 20.0)],
)
def test_a_full_stream_is_read_conditioned_and_journalled(
    driver: str, kind: str, rate_hz: float, limit: float, tmp_path: Path, measured: Measured
) -> None:
    seconds = 30.0
    peer = Peer(kind, rate_hz, seconds)
    session = Session(kit(driver, peer.port, rate_hz), tmp_path)
    with peer.running() as process:
        session.open()
        session.start_recording(name="bench")
        time.sleep(1.0)
        before = time.process_time()
        time.sleep(seconds - 2.0)
        cost = (time.process_time() - before) / (seconds - 2.0)
        sent, lost = ended(process)
        time.sleep(1.0)
        (health,) = session.health()
        session.stop_recording()
        session.close()
    peer.close()
    name = f"{driver}, {COLUMNS} × {rate_hz / 1000:g} kHz"
    measured(f"{name}: share of one core, recording, no window", 100 * cost, "%", limit=limit)
    raw = raw_cost(kind, rate_hz, 10.0)
    measured(f"{name}: ratio to reading the bytes raw with pyserial", cost / raw, "×")
    measured(f"{name}: rows the line would not take, of {sent}", lost, "rows", limit=0)
    measured(f"{name}: rows not read", sent - health.rows, "rows", limit=1)
    assert sent - health.rows <= max(16, 2 * lost), "all but the first, and those cut"
    assert health.lost + health.rows >= sent - 16, "what is not there is told"
    assert 100 * cost < limit


def cpu_s(prefix: str) -> float:
    """Processor time of the threads whose name begins so, s (the scheduler's own count, in ns)."""
    return sum(
        int(Path(f"/proc/self/task/{t.native_id}/schedstat").read_text().split()[0]) * 1e-9
        for t in threading.enumerate()
        if t.name.startswith(prefix)
    )


def test_a_full_stream_is_recorded_while_the_desk_draws(
    qtbot: QtBot, tmp_path: Path, measured: Measured, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One process, as the program runs: reader, journal, marks, and the Live place drawing."""
    from gaugebench.desk.live.place import LivePlace
    from gaugebench.desk.theme import LIGHT
    from gaugebench.desk.units import Units
    from gaugebench.desk.work import Workers
    from gaugebench.session.live import Live

    rate_hz, seconds = 10_000.0, 30.0
    stamps: list[float] = []
    ticks: list[float] = []
    take, tick = Live.take, LivePlace.tick

    def noted_take(live: Live, block: Block) -> None:
        stamps.append(time.monotonic())
        take(live, block)

    def noted_tick(shown: LivePlace) -> None:
        ticks.append(time.monotonic())
        tick(shown)

    monkeypatch.setattr(Live, "take", noted_take)
    monkeypatch.setattr(LivePlace, "tick", noted_tick)
    peer = Peer("frames", rate_hz, seconds)
    session = Session(kit("framed-binary", peer.port, rate_hz, ROLES), tmp_path)
    workers = Workers()
    place = LivePlace(Units(), LIGHT, workers)
    qtbot.addWidget(place)
    place.resize(1600, 900)
    place.show()
    with peer.running() as process:
        session.open()
        session.start_recording(name="bench")
        place.attach(session)
        qtbot.wait(2000)
        stamps.clear()
        ticks.clear()
        kinds = ("gaugebench-read", "gaugebench-recorder", "gaugebench-marks", "MainThread")
        before = {kind: cpu_s(kind) for kind in kinds}
        began = time.monotonic()
        qtbot.wait(int(1000 * (seconds - 5.0)))
        span = time.monotonic() - began
        shares = {kind: 100 * (cpu_s(kind) - before[kind]) / span for kind in kinds}
        gaps, frames = np.diff(stamps), len(ticks) / span
        sent, lost = ended(process)
        qtbot.wait(500)
        (health,) = session.health()
        place.detach()
        path = session.stop_recording()
        session.close()
    peer.close()
    place.large.close()
    workers.close()
    name = "8 × 10 kHz frames while the desk draws"
    both = shares["gaugebench-read"] + shares["gaugebench-recorder"]
    measured(f"{name}: share of one core of reading and journalling", both, "%", limit=35)
    for kind in kinds:
        measured(f"{name}: share of one core, thread {kind}", shares[kind], "%")
    raw = 100 * raw_cost("frames", rate_hz, 10.0)
    measured(f"{name}: ratio to reading the bytes raw with pyserial", both / raw, "×")
    measured(f"{name}: reader's worst gap between two blocks", 1e3 * float(gaps.max()), "ms")
    measured(f"{name}: pictures a second", frames, "1/s")
    measured(f"{name}: rows the line would not take, of {sent}", lost, "rows", limit=0)
    measured(f"{name}: rows not read", sent - health.rows, "rows", limit=16)
    from gaugebench.store.tracefile import TraceFile

    (kept,) = TraceFile(path).rows.values()
    assert kept == health.rows, "what was read is in the trace"
    assert health.lost + health.rows >= sent - 16, "what is not there is told"
    assert sent - health.rows <= max(16, 2 * lost), "all but the first frame and those cut"
    assert frames > 1.0, "the desk drew"
    assert both < 35


def test_from_byte_to_ring(measured: Measured) -> None:
    rate_hz, seconds = 1000.0, 10.0
    peer = Peer("text", rate_hz, seconds)
    ring = Ring(COLUMNS, 100_000)
    delays: list[float] = []
    stamps: list[float] = []

    def sink(event: Event) -> None:
        if isinstance(event, Block):
            ring.write(event.times, event.raw, event.quality)
            now = time.monotonic()
            stamps.append(now)
            delays.extend((now - event.raw[:, 0]).tolist())

    acquisition = Acquisition(kit("text-lines", peer.port, rate_hz), SystemClock(), sink)
    with peer.running() as process:
        acquisition.start()
        ended(process)
        time.sleep(0.3)
        acquisition.stop()
    peer.close()
    settled = np.array(delays[1000:]) * 1e3
    measured("byte in the port to sample in the ring, median", float(np.median(settled)), "ms")
    measured(
        "byte in the port to sample in the ring, 95 %", float(np.percentile(settled, 95)), "ms"
    )
    worst = float(np.max(np.diff(stamps[10:]))) * 1e3
    measured("reader's worst gap between two blocks at 8 × 1 kHz", worst, "ms")
    assert np.median(settled) < 50


def test_a_minute_of_eight_channels_at_200_a_second(tmp_path: Path, measured: Measured) -> None:
    """Every sample that was sent is in the trace, in order, with its value."""
    from gaugebench.store.opening import open_trace

    peer = Peer("text", 200.0, 60.0)
    session = Session(kit("text-lines", peer.port, 200.0), tmp_path)
    with peer.running() as process:
        session.open()
        session.start_recording(name="minute")
        sent, lost = ended(process)
        time.sleep(1.0)
        path = session.stop_recording()
        session.close()
    peer.close()
    trace = open_trace(path)
    found = np.column_stack([s.raw for s in trace.series if s.raw is not None])[:, 1:]
    rows = np.arange(sent)[:, None]
    expected = (rows * 7 + np.arange(1, COLUMNS) * 131) % 4000 / 10
    first = sent - len(found)  # the first line after opening is never taken
    measured("60 s, 8 channels × 200 Hz: rows sent and not in the trace", first, "rows", limit=1)
    assert lost == 0
    assert first <= 1
    np.testing.assert_array_equal(found, expected[first:])


def test_waiting_costs_next_to_nothing(measured: Measured) -> None:
    """A board that is silent, and then one that is gone: no busy loop."""
    peer = Peer("text", 1.0, 0.0)
    acquisition = Acquisition(kit("text-lines", peer.port, 1.0), SystemClock(), lambda _: None)
    acquisition.start()
    before = time.process_time()
    time.sleep(5.0)
    silent = (time.process_time() - before) / 5.0
    peer.close()
    pulled = time.monotonic()
    while acquisition.health()[0].alive and time.monotonic() < pulled + 10:
        time.sleep(0.001)
    told = time.monotonic() - pulled
    before = time.process_time()
    time.sleep(5.0)
    gone = (time.process_time() - before) / 5.0
    acquisition.stop()
    measured("share of one core while a board is silent", 100 * silent, "%", limit=2)
    measured("share of one core while a board is unplugged", 100 * gone, "%", limit=2)
    measured("from unplugging to the channel marked lost", 1e3 * told, "ms", limit=1000)
    assert told < 1.0
    assert silent < 0.02
    assert gone < 0.02
