"""Every driver keeps the contract, each against its peer."""

from __future__ import annotations

import json
import os
import re
import struct
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

import can
import numpy as np
import pytest
from gaugebench_drivers import conformance
from gaugebench_drivers.conformance import Bench

from gaugebench.acquire import registry
from gaugebench.acquire.acquisition import Acquisition
from gaugebench.acquire.clock import SystemClock
from gaugebench.driver import Input
from gaugebench.model.block import Block
from gaugebench.model.event import Event
from gaugebench.model.kit import kit_from
from gaugebench.session import headless
from gaugebench.session.headless import record_to
from gaugebench.store.opening import open_trace
from gaugebench.wire import firmata as firmata_wire
from gaugebench.wire.frame import ValueType, encode_samples
from gaugebench.wire.modbus import with_crc
from gaugebench.wire.slcan import CanFrame, encode
from gaugebench.wire.text_line import LineFormat, encode_line

if TYPE_CHECKING:
    from gaugebench.model.arrays import F64
    from tests.conftest import PtyLine

PAIR = (Input("P1", "bar"), Input("P2", "bar"))
ROWS = np.column_stack([np.arange(200.0), 343.25 - np.arange(200.0)])


class Peers:
    """Makes the far end of each driver."""

    def __init__(self, line: PtyLine, folder: Path, stack: ExitStack) -> None:
        self.line = line
        self.folder = folder
        self.stack = stack

    def bench(self, name: str) -> Bench:
        makers: dict[str, Callable[[], Bench]] = {
            "text-lines": self.text_lines,
            "framed-binary": self.framed_binary,
            "modbus-rtu": self.modbus_rtu,
            "j1939": self.j1939,
            "canopen-pressure": self.canopen_pressure,
            "firmata": self.firmata,
            "scpi": self.scpi,
            "iio-adc": self.iio_adc,
        }
        return makers[name]()

    def _push(self, data: bytes, rows: F64) -> Callable[[], F64]:
        def send() -> F64:
            self.line.send(data)
            return rows

        return send

    def text_lines(self) -> Bench:
        layout = LineFormat(3, (1, 2), 0)
        # All at once, so no more than what is not yet taken for a jump of the device's clock.
        lines = [encode_line(layout, r.tolist(), n * 0.001) for n, r in enumerate(ROWS)]
        return Bench(
            registry.load("text-lines"),
            {"port": str(self.line.path), "time": "t"},
            PAIR,
            self._push(b"\n" + b"".join(lines), ROWS),
            unplug=self.line.unplug,
        )

    def framed_binary(self) -> Bench:
        frames = [
            encode_samples(ROWS[n : n + 20], n, n * 1e-4, 1e-4, ValueType.FLOAT32)
            for n in range(0, 200, 20)
        ]
        return Bench(
            registry.load("framed-binary"),
            {"port": str(self.line.path)},
            PAIR,
            self._push(b"".join(frames), ROWS),
            unplug=self.line.unplug,
        )

    def modbus_rtu(self) -> Bench:
        answer = with_crc(bytes([1, 3, 8]) + struct.pack(">ff", 187.5, 343.25))

        def serve() -> None:
            if self.line.received(8, 0.001):
                self.line.send(answer)

        values = [{"input": f"P{n + 1}", "register": 2 * n, "type": "float32"} for n in range(2)]
        device = {"name": "A", "address": 1, "poll_hz": 200, "timeout_s": 5, "value": values}
        return Bench(
            registry.load("modbus-rtu"),
            {"port": str(self.line.path), "device": [device]},
            PAIR,
            lambda: np.tile([187.5, 343.25], (5, 1)),
            is_asked=True,
            unplug=self.line.unplug,
            serve=serve,
        )

    def j1939(self) -> Bench:
        speeds = np.arange(1800.0, 1900.0)[:, np.newaxis]
        frames = [
            CanFrame(0x0CF00400, struct.pack("<3xHxxx", round(8 * s)), extended=True)
            for s in speeds[:, 0]
        ]
        return Bench(
            registry.load("j1939"),
            {
                "port": str(self.line.path),
                "interface": "slcan",
                "spn": [{"input": "rpm", "spn": 190}],
            },
            (Input("rpm", "rpm"),),
            self._push(b"\r" + b"".join(map(encode, frames)), speeds),
            unplug=self.line.unplug,
        )

    def canopen_pressure(self) -> Bench:
        channel = uuid4().hex
        bus = self.stack.enter_context(can.Bus(interface="virtual", channel=channel))

        def send() -> F64:
            for first, second in ROWS:
                data = struct.pack("<ff", first, second)
                bus.send(can.Message(arbitration_id=0x185, data=data, is_extended_id=False))
            return ROWS

        values = [{"input": "P1"}, {"input": "P2", "byte": 4}]
        return Bench(
            registry.load("canopen-pressure"),
            {"port": channel, "interface": "virtual", "pdo": [{"node": 5, "value": values}]},
            PAIR,
            send,
        )

    def firmata(self) -> Bench:
        counts = np.column_stack([np.arange(200), 1023 - np.arange(200)])
        sent = b"".join(
            firmata_wire.encode_analog(pin, int(value))
            for row in counts
            for pin, value in zip((0, 3), row, strict=True)
        )
        return Bench(
            registry.load("firmata"),
            {"port": str(self.line.path)},
            (Input("A0", "V"), Input("A3", "V")),
            self._push(sent, counts * 5.0 / 1024),
            unplug=self.line.unplug,
        )

    def scpi(self) -> Bench:
        def serve() -> None:
            asked = self.line.received(6, 0.001)
            if asked:
                self.line.send(b"+1.875E+02,3.4325E2\r\n")

        query = {"send": "READ?", "inputs": ["P1", "P2"], "every_s": 0.005, "timeout_s": 5}
        return Bench(
            registry.load("scpi"),
            {"port": str(self.line.path), "identify": False, "query": [query]},
            PAIR,
            lambda: np.tile([187.5, 343.25], (5, 1)),
            is_asked=True,
            unplug=self.line.unplug,
            serve=serve,
        )

    def iio_adc(self) -> Bench:
        forms = {"voltage0": "le:s12/16>>4", "voltage1": "be:u16/16>>0"}
        sysfs, dev = made_converter(self.folder, forms)
        pipe = os.open(dev / "iio:device0", os.O_RDWR)
        self.stack.callback(os.close, pipe)
        first, second = np.arange(-100, 100), np.arange(200)

        def send() -> F64:
            pairs = zip(first.tolist(), second.tolist(), strict=True)
            os.write(
                pipe, b"".join(struct.pack("<h", a << 4) + struct.pack(">H", b) for a, b in pairs)
            )
            return np.column_stack([first, second + 10]).astype(np.float64) * 2.5e-3

        return Bench(
            registry.load("iio-adc"),
            {"device": "made-adc", "sysfs": str(sysfs), "dev": str(dev)},
            (Input("voltage0", "V"), Input("voltage1", "V")),
            send,
        )


def made_converter(folder: Path, channels: dict[str, str]) -> tuple[Path, Path]:
    """A made-up sysfs tree with one converter, and a pipe in place of its device file."""
    sysfs, dev = folder / "sys", folder / "dev"
    device = sysfs / "iio:device0"
    (device / "scan_elements").mkdir(parents=True)
    (device / "buffer").mkdir()
    dev.mkdir()
    os.mkfifo(dev / "iio:device0")
    (device / "name").write_text("made-adc\n")
    (device / "in_voltage_scale").write_text("2.5\n")
    (device / "in_voltage1_offset").write_text("10\n")
    (device / "sampling_frequency").write_text("1600\n")
    for file in ("enable", "length"):
        (device / "buffer" / file).write_text("0\n")
    for index, (name, form) in enumerate(channels.items()):
        for what, text in (("en", "0"), ("index", str(index)), ("type", form)):
            (device / "scan_elements" / f"in_{name}_{what}").write_text(f"{text}\n")
    return sysfs, dev


@pytest.fixture
def peers(line: PtyLine, tmp_path: Path) -> Iterator[Peers]:
    with ExitStack() as stack:
        yield Peers(line, tmp_path, stack)


OURS = (
    "text-lines", "framed-binary", "modbus-rtu", "j1939", "canopen-pressure", "firmata", "scpi",
    "iio-adc",
)  # fmt: skip


@pytest.mark.parametrize("name", OURS)
def test_the_driver_keeps_the_contract(name: str, peers: Peers) -> None:
    conformance.check(peers.bench(name))


@pytest.mark.parametrize("name", OURS)
def test_its_rows_reach_the_sink_with_every_one_accounted_for(name: str, peers: Peers) -> None:
    bench = peers.bench(name)
    channels = [{"input": i.name, "unit": i.unit} for i in bench.inputs]
    source = {"driver": name, "options": dict(bench.options), "channel": channels}
    blocks: list[Block] = []

    def sink(event: Event) -> None:
        if isinstance(event, Block):
            blocks.append(event)

    acquisition = Acquisition(kit_from({"schema": 1, "source": [source]}), SystemClock(), sink)
    acquisition.start()
    try:
        sent = bench.send()
        until = time.monotonic() + 30
        while sum(map(len, blocks)) < len(sent):
            assert time.monotonic() < until, f"{sum(map(len, blocks))} of {len(sent)} rows came"
            if bench.serve is not None:
                bench.serve()
            else:
                time.sleep(0.01)
        (health,) = acquisition.health()
    finally:
        acquisition.stop()
    found = np.concatenate([b.raw for b in blocks])
    if bench.is_asked:
        sent = np.tile(sent[-1], (len(found), 1))
    np.testing.assert_allclose(found, sent)
    assert [b.first for b in blocks] == np.cumsum([0, *map(len, blocks)])[:-1].tolist()
    assert np.all(np.diff(np.concatenate([b.times for b in blocks])) > 0)
    assert (health.lost, health.rejects, health.fault) == (0, {}, None)


def toml(value: object) -> str:
    """A value as TOML writes it in line."""
    if isinstance(value, dict):
        pairs = (f"{json.dumps(key)} = {toml(item)}" for key, item in value.items())
        return "{" + ", ".join(pairs) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(toml, value)) + "]"
    return json.dumps(value, ensure_ascii=False)


@pytest.mark.parametrize("name", OURS)
def test_it_is_recorded_to_a_trace_with_every_row(
    name: str, peers: Peers, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = peers.bench(name)
    channels = [{"input": i.name, "unit": i.unit} for i in bench.inputs]
    source = {"driver": name, "options": dict(bench.options), "channel": channels}
    kit = tmp_path / "kit.toml"
    kit.write_text(f"schema = 1\nsource = [{toml(source)}]\n", encoding="utf-8")
    monkeypatch.setattr(headless, "TELL_EVERY_S", 0.05)
    is_recording, enough = threading.Event(), threading.Event()
    wanted = 25 * len(bench.inputs) if bench.is_asked else None

    def say(text: str) -> None:
        is_recording.set()
        written = re.search(r"(\d+) samples", text)
        if wanted is not None and written is not None and int(written[1]) >= wanted:
            enough.set()

    with ThreadPoolExecutor(1) as pool:
        done = pool.submit(record_to, kit, tmp_path / "trace.h5", 60.0, say, enough)
        assert is_recording.wait(30)
        sent = bench.send()
        wanted = wanted or sent.size
        while not done.done():
            if bench.serve is not None:
                bench.serve()
            else:
                time.sleep(0.01)
        trace = open_trace(done.result())
    raw = [s.raw for s in trace.series]
    assert [s.channel.name for s in trace.series] == [i.name for i in bench.inputs]
    found = np.column_stack([r for r in raw if r is not None])
    if bench.is_asked:
        assert len(found) >= 25
        sent = np.tile(sent[-1], (len(found), 1))
    np.testing.assert_allclose(found, sent)
    assert trace.gaps == ()
    assert not trace.rejects


def test_no_driver_of_this_project_is_left_out() -> None:
    text = (Path(__file__).parents[2] / "pyproject.toml").read_text(encoding="utf-8")
    registered = re.findall(r'^([a-z0-9-]+) = "gaugebench_drivers\.', text, re.MULTILINE)
    assert sorted(registered) == sorted(OURS)


@pytest.mark.parametrize("name", OURS)
def test_each_has_an_example_kit_that_is_valid(name: str) -> None:
    from gaugebench.acquire.binding import bind
    from gaugebench.model.kit import read_kit

    kit = read_kit(Path(__file__).parents[2] / "drivers" / "examples" / f"{name}.toml")
    assert [s.driver for s in kit.source] == [name]
    bound = bind(kit.source[0], "source.0", registry.load)
    assert bound.channels
