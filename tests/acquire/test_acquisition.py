"""A kit on a real pseudo-terminal, read to the sink."""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from gaugebench.acquire.acquisition import SWITCH_S, Acquisition
from gaugebench.acquire.clock import SystemClock
from gaugebench.errors import DriverError, KitError, SourceError
from gaugebench.model.block import Block
from gaugebench.model.event import Event, GapSeen, Rejected, SourceSaid
from gaugebench.model.kit import Kit, kit_from
from gaugebench.model.quality import Quality
from gaugebench.wire.text_line import LineFormat, encode_line

if TYPE_CHECKING:
    from tests.conftest import PtyLine


def kit(*ports: str, channels: int = 2, **options: Any) -> Kit:
    sources: list[dict[str, Any]] = [
        {
            "driver": "text-lines",
            "name": f"board{number}",
            "options": {"port": port, "time": "t", **options},
            "channel": [{"input": f"P{n}", "unit": "bar"} for n in range(1, channels + 1)],
        }
        for number, port in enumerate(ports)
    ]
    return kit_from({"schema": 1, "source": sources})


class Sink:
    """Keeps events and waits for them."""

    def __init__(self) -> None:
        self.events: list[Event] = []
        self._more = threading.Condition()

    def __call__(self, event: Event) -> None:
        with self._more:
            self.events.append(event)
            self._more.notify_all()

    def wait(self, enough: Callable[[], bool], timeout_s: float = 30.0) -> None:
        with self._more:
            assert self._more.wait_for(enough, timeout_s), f"{self.events[-5:]}"

    def blocks(self, stream: int = 0) -> list[Block]:
        return [e for e in self.events if isinstance(e, Block) and e.stream == stream]

    def rows(self, stream: int = 0) -> int:
        return sum(map(len, self.blocks(stream)))


def test_every_row_sent_is_handed_on_in_order_with_its_value(line: PtyLine) -> None:
    rows, channels = 3000, 6
    layout = LineFormat(channels + 1, tuple(range(1, channels + 1)), 0)
    sent = np.round(np.random.default_rng(7).normal(200.0, 80.0, (rows, channels)), 4)
    sink = Sink()
    acquisition = Acquisition(kit(str(line.path), channels=channels), SystemClock(), sink)
    acquisition.start()
    try:
        line.send(b"half a line\r\n")
        for number, row in enumerate(sent):
            line.send(encode_line(layout, row.tolist(), number * 0.005))
        sink.wait(lambda: sink.rows() == rows)
        health = acquisition.health()[0]
    finally:
        acquisition.stop()
    blocks = sink.blocks()
    np.testing.assert_array_equal(np.concatenate([b.raw for b in blocks]), sent)
    assert [b.first for b in blocks] == np.cumsum([0, *map(len, blocks)])[:-1].tolist()
    times = np.concatenate([b.times for b in blocks])
    assert np.all(np.diff(times) > 0)
    assert (health.rows, health.lost, health.alive) == (rows, 0, True)
    assert health.rejects == {"first line": 1}


def test_a_reader_does_not_wait_long_for_the_interpreter(line: PtyLine) -> None:
    before = sys.getswitchinterval()
    sys.setswitchinterval(0.005)
    try:
        acquisition = Acquisition(kit(str(line.path)), SystemClock(), Sink())
        acquisition.start()
        assert sys.getswitchinterval() == pytest.approx(SWITCH_S)
        acquisition.stop()
    finally:
        sys.setswitchinterval(before)


def test_a_paced_stream_keeps_the_devices_time(line: PtyLine) -> None:
    sink = Sink()
    layout = LineFormat(3, (1, 2), 0)
    acquisition = Acquisition(kit(str(line.path)), SystemClock(), sink)
    acquisition.start()
    began = time.monotonic()
    try:
        line.send(b"\n")
        for number in range(300):
            time.sleep(max(0.0, began + number * 0.005 - time.monotonic()))
            line.send(encode_line(layout, (number, 2 * number), 7.0 + number * 0.005))
        sink.wait(lambda: sink.rows() == 300)
    finally:
        acquisition.stop()
    times = np.concatenate([b.times for b in sink.blocks()])
    # The steps are the device's, but for the turning of the line, which is bounded.
    np.testing.assert_allclose(np.diff(times), 0.005, rtol=2.1e-3)
    assert times[-1] - times[0] == pytest.approx(299 * 0.005, rel=2.1e-3)
    assert not [e for e in sink.events if isinstance(e, GapSeen)]


def test_unplugged_the_others_run_on_and_it_is_found_again(
    line: PtyLine, second_line: PtyLine
) -> None:
    sink = Sink()
    acquisition = Acquisition(kit(str(line.path), str(second_line.path)), SystemClock(), sink)
    acquisition.start()
    try:
        line.send(b"\n0,1,1\n10,2,2\n")
        second_line.send(b"\n0,5,5\n")
        sink.wait(lambda: sink.rows(0) == 2 and sink.rows(1) == 1)
        line.unplug()
        sink.wait(lambda: not acquisition.health()[0].alive)
        second_line.send(b"10,6,6\n")
        sink.wait(lambda: sink.rows(1) == 2)
        assert acquisition.health()[1].alive
        line.replug()
        sink.wait(lambda: acquisition.health()[0].alive)
        line.send(b"\n0,3,3\n10,4,4\n")
        sink.wait(lambda: sink.rows(0) == 4)
    finally:
        acquisition.stop()
    assert np.concatenate([b.raw for b in sink.blocks(0)])[:, 0].tolist() == [1, 2, 3, 4]
    after = sink.blocks(0)[-1] if len(sink.blocks(0)[-1]) == 2 else sink.blocks(0)[-2]
    assert after.quality[0, 0] & Quality.AFTER_GAP
    gaps = [e.gap for e in sink.events if isinstance(e, GapSeen)]
    assert [(g.stream, g.why) for g in gaps] == [("board0", "the source was lost")]
    said = [e for e in sink.events if isinstance(e, SourceSaid) and e.source == "board0"]
    assert not said[0].alive
    assert said[-1].alive


def test_unplugged_under_load_again_and_again(line: PtyLine, second_line: PtyLine) -> None:
    """One board streams on while the other, streaming too, is pulled and put back three times."""
    sink = Sink()
    layout = LineFormat(3, (1, 2), 0)
    acquisition = Acquisition(kit(str(line.path), str(second_line.path)), SystemClock(), sink)
    stop = threading.Event()
    sent = {line: 0, second_line: 0}

    def stream(to: PtyLine) -> None:
        started = time.monotonic()
        while not stop.is_set():
            rows = range(sent[to], sent[to] + 5)
            data = b"".join(encode_line(layout, (n, -n), n * 0.002) for n in rows)
            try:
                to.send(data)
            except (OSError, ValueError):
                data = b""  # it is unplugged at the moment; what it would have sent is gone
            sent[to] += 5
            time.sleep(max(0.0, started + sent[to] * 0.002 - time.monotonic()))

    acquisition.start()
    threads = [threading.Thread(target=stream, args=(each,)) for each in sent]
    try:
        for thread in threads:
            thread.start()
        for _ in range(3):
            before = sink.rows(0)
            sink.wait(lambda before=before: sink.rows(0) > before + 50)  # type: ignore[misc]
            line.unplug()
            sink.wait(lambda: not acquisition.health()[0].alive)
            assert acquisition.health()[1].alive
            line.replug()
            sink.wait(lambda: acquisition.health()[0].alive)
        before = sink.rows(0)
        sink.wait(lambda: sink.rows(0) > before + 50)
    finally:
        stop.set()
        for thread in threads:
            thread.join()
        time.sleep(0.1)
        acquisition.stop()
    pulled_rows = np.concatenate([b.raw for b in sink.blocks(0)])
    steady = np.concatenate([b.raw for b in sink.blocks(1)])
    assert np.all(np.diff(pulled_rows[:, 0]) > 0), "in order, none twice"
    np.testing.assert_array_equal(pulled_rows[:, 1], -pulled_rows[:, 0])
    # The other board lost nothing but, at most, the line during which it was opened.
    np.testing.assert_array_equal(np.diff(steady[:, 0]), 1.0)
    gaps = [e.gap for e in sink.events if isinstance(e, GapSeen)]
    assert [g.stream for g in gaps] == ["board0"] * 3
    for number in (0, 1):
        times = np.concatenate([b.times for b in sink.blocks(number)])
        assert np.all(np.diff(times) > 0)
    after_gap = np.concatenate([b.quality[:, 0] for b in sink.blocks(0)]) & Quality.AFTER_GAP
    assert np.count_nonzero(after_gap) == 3


def test_noise_only_suggests_another_speed(line: PtyLine) -> None:
    sink = Sink()
    acquisition = Acquisition(kit(str(line.path), baud=9600), SystemClock(), sink)
    acquisition.start()
    try:
        until = time.monotonic() + 30
        while not acquisition.health()[0].advice:
            assert time.monotonic() < until
            line.send(bytes(range(128, 255)) + b"\r\x00\n")
            time.sleep(0.05)
        health = acquisition.health()[0]
    finally:
        acquisition.stop()
    assert "wrong speed?" in health.advice[0]
    assert "9600" in health.advice[0]
    rejects = [e for e in sink.events if isinstance(e, Rejected)]
    counted = {k: sum(r.count for r in rejects if r.kind == k) for k in {r.kind for r in rejects}}
    assert counted.keys() == {"first line", "undecodable"}
    assert all(len(s) <= 256 for r in rejects for s in r.samples)


def test_a_wrong_option_names_its_key() -> None:
    with pytest.raises(KitError, match=r"source\.0\.options\.baud: .*integer"):
        Acquisition(kit("x", baud="fast"), SystemClock(), Sink()).start()


def test_an_unknown_driver_is_named() -> None:
    source = {"driver": "telex", "channel": [{"input": "a", "unit": "bar"}]}
    wrong = kit_from({"schema": 1, "source": [source]})
    with pytest.raises(DriverError, match=r"“telex”.*text-lines"):
        Acquisition(wrong, SystemClock(), Sink()).start()


def test_where_one_source_does_not_open_none_stays_open(line: PtyLine) -> None:
    missing = f"{line.path}-none"
    acquisition = Acquisition(kit(str(line.path), missing), SystemClock(), Sink())
    with pytest.raises(SourceError, match="There is no"):
        acquisition.start()
    again = Acquisition(kit(str(line.path)), SystemClock(), Sink())
    again.start()
    again.stop()


def test_a_port_held_elsewhere_names_who_holds_it(line: PtyLine) -> None:
    import subprocess
    import sys

    program = (
        "import serial, sys; s = serial.Serial(sys.argv[1], exclusive=True);"
        " print('held', flush=True); sys.stdin.read()"
    )
    holder = subprocess.Popen(
        [sys.executable, "-c", program, os.fspath(line.path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    with holder:
        assert holder.stdout is not None
        assert holder.stdin is not None
        assert holder.stdout.readline() == b"held\n"
        with pytest.raises(SourceError, match=rf"held by .*process {holder.pid}"):
            Acquisition(kit(str(line.path)), SystemClock(), Sink()).start()
        holder.stdin.close()
