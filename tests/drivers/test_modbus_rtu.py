"""Driver `modbus-rtu`: expected exchanges byte by byte, and pymodbus's own server."""

from __future__ import annotations

import asyncio
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from gaugebench_drivers.modbus_options import ModbusOptions
from gaugebench_drivers.modbus_rtu import DRIVER
from pydantic import ValidationError
from pymodbus.server import ModbusSerialServer
from pymodbus.simulator import DataType, SimData, SimDevice

from gaugebench.acquire.clock import ManualClock
from gaugebench.driver import Input, Reading, Source
from gaugebench.errors import SourceError
from gaugebench.wire.modbus import with_crc

if TYPE_CHECKING:
    from tests.conftest import PtyLine

ASK = bytes.fromhex("01 03 00 00 00 02 C4 0B")
ANSWER = bytes.fromhex("01 03 04 43 75 99 9A 14 56")
CLOCK = ManualClock()
"""Moved on by each read, so that a time-out is a number of reads and no matter of the machine."""
STEP_S = 0.02
FLOAT = {"input": "P1", "register": 0, "type": "float32"}


def device(**changes: Any) -> dict[str, Any]:
    return {"name": "A", "address": 1, "timeout_s": 0.1, "value": [FLOAT], **changes}


def opened(line: PtyLine, *devices: dict[str, Any], inputs: tuple[str, ...] = ("P1",)) -> Source:
    options = ModbusOptions.model_validate({"port": str(line.path), "device": list(devices)})
    return DRIVER.open(options, [Input(name, "bar") for name in inputs], CLOCK)


class Exchange:
    """Reads a source until something has come, and keeps everything."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.got: list[Reading] = []

    def until(self, enough: Callable[[], bool]) -> None:
        until = time.monotonic() + 30.0
        while not enough():
            assert time.monotonic() < until, f"only {[r for r in self.got if r != Reading()]}"
            self.got.append(self.source.read(STEP_S))
            CLOCK.sleep(STEP_S)

    def until_values(self, count: int) -> None:
        self.until(lambda: len(self.values()) == count)

    def asked(self, line: PtyLine, request: bytes = ASK) -> None:
        """The driver sends exactly this."""
        heard = b""

        def enough() -> bool:
            nonlocal heard
            heard += line.received(len(request) - len(heard), 0.005)
            return len(heard) == len(request)

        self.until(enough)
        assert heard == request

    def values(self, stream: int = 0) -> list[list[float]]:
        return [
            r for x in self.got for b in x.batches if b.stream == stream for r in b.raw.tolist()
        ]

    @property
    def kinds(self) -> list[str]:
        return [x.kind for r in self.got for x in r.rejects]

    @property
    def notices(self) -> list[str]:
        return [x.text for r in self.got for x in r.notices]


def test_a_value_is_asked_for_and_answered(line: PtyLine) -> None:
    exchange = Exchange(opened(line, device()))
    exchange.asked(line)
    line.send(ANSWER[:4])
    exchange.got.append(exchange.source.read(0.02))
    assert exchange.values() == []
    line.send(ANSWER[4:])
    exchange.until(lambda: bool(exchange.values()))
    assert exchange.values() == [[pytest.approx(245.6)]]
    assert exchange.kinds == []
    exchange.source.close()


@pytest.mark.parametrize("before", [b"\x00", ASK, ASK + b"\x00"])
def test_a_stray_zero_and_an_echo_do_no_harm(line: PtyLine, before: bytes) -> None:
    exchange = Exchange(opened(line, device()))
    exchange.asked(line)
    line.send(before + ANSWER)
    exchange.until(lambda: bool(exchange.values()))
    assert exchange.values() == [[pytest.approx(245.6)]]
    assert exchange.kinds == (["stray byte"] if before[-1:] == b"\x00" else [])
    exchange.source.close()


def test_a_damaged_answer_gives_no_value_and_is_asked_for_again(line: PtyLine) -> None:
    exchange = Exchange(opened(line, device()))
    exchange.asked(line)
    line.send(bytes.fromhex("01 03 04 43 65 99 9A 14 56"))
    exchange.until(lambda: exchange.kinds == ["checksum"])
    exchange.asked(line)
    line.send(ANSWER)
    exchange.until(lambda: bool(exchange.values()))
    assert exchange.values() == [[pytest.approx(245.6)]]
    exchange.source.close()


def test_a_refusal_is_the_devices_word_and_no_time_out(line: PtyLine) -> None:
    exchange = Exchange(opened(line, device(timeout_s=5.0)))
    exchange.asked(line)
    began = CLOCK.now()
    line.send(bytes.fromhex("01 83 02 C0 F1"))
    exchange.until(lambda: bool(exchange.kinds))
    assert exchange.kinds == ["device says: bad address"]
    assert CLOCK.now() - began < 5.0
    assert exchange.notices == ["“A” (address 1): device says: bad address"]
    exchange.source.close()


def test_left_overs_of_a_late_answer_do_not_spoil_the_next(line: PtyLine) -> None:
    exchange = Exchange(opened(line, device(poll_hz=50)))
    exchange.asked(line)
    line.send(ANSWER[:5])
    exchange.until(lambda: exchange.kinds == ["no answer"])
    line.send(ANSWER[5:])
    exchange.asked(line)
    line.send(ANSWER)
    exchange.until(lambda: bool(exchange.values()))
    assert exchange.values() == [[pytest.approx(245.6)]]
    assert exchange.got[-1].rejects == ()
    exchange.source.close()


def test_unsigned_that_ought_to_be_signed_is_hinted_and_not_changed(line: PtyLine) -> None:
    ask, answer = bytes.fromhex("02 04 00 00 00 01 31 F9"), bytes.fromhex("02 04 02 FF F8 BD 42")
    for kind, value, hint in (
        ("uint16", 6552.8, ["“P1” reads 65528: signed (int16)?"]),
        ("int16", -0.8, []),
    ):
        register = {"input": "P1", "register": 0, "type": kind, "scale": 0.1}
        source = opened(line, device(address=2, table="input", poll_hz=100, value=[register]))
        exchange = Exchange(source)
        for count in (1, 2):
            exchange.asked(line, ask)
            line.send(answer)
            exchange.until_values(count)
        assert exchange.values() == [[pytest.approx(value)]] * 2
        assert exchange.notices == hint, "said once"
        source.close()


@pytest.mark.parametrize(
    ("raw", "is_hinted"), [(0xFFFF, True), (0xFE00, True), (0xFDFF, False), (0x8000, False)]
)
def test_the_hint_is_for_small_negatives_only(line: PtyLine, raw: int, is_hinted: bool) -> None:
    register = {"input": "P1", "register": 0, "type": "uint16"}
    exchange = Exchange(opened(line, device(value=[register])))
    exchange.asked(line, with_crc(bytes.fromhex("01 03 00 00 00 01")))
    line.send(with_crc(b"\x01\x03\x02" + raw.to_bytes(2)))
    exchange.until_values(1)
    assert exchange.values() == [[float(raw)]], "never changed"
    assert bool(exchange.notices) == is_hinted
    exchange.source.close()


def test_swapped_words_give_no_number_and_a_suggestion_from_several(line: PtyLine) -> None:
    ask = bytes.fromhex("05 03 00 00 00 02 C5 8F")
    exchange = Exchange(opened(line, device(address=5, poll_hz=100)))
    answers = [
        bytes.fromhex("05 03 04 80 00 43 3B E6 D0"),
        bytes.fromhex("05 03 04 99 9A 43 AB C1 CF"),
        with_crc(bytes.fromhex("05 03 04 00 00 43 48")),
    ]
    for count, answer in enumerate(answers, 1):
        assert exchange.notices == [], "one reading proves nothing"
        exchange.asked(line, ask)
        line.send(answer)
        exchange.until_values(count)
    assert np.isnan(exchange.values()).all()
    assert exchange.kinds == ["word order?"] * 3
    (said,) = exchange.notices
    assert said.startswith(
        "“P1” has no sensible value: wrong word order? CDAB gives 187.5, 343.2, 200"
    )
    exchange.source.close()


def mute_nine(is_sent: bool, data: bytes) -> bytes:
    """The server answers for a device that it has not; nothing of that reaches the line."""
    return b"" if is_sent and data[:1] == b"\x09" else data


@contextmanager
def server(line: PtyLine, *devices: SimDevice) -> Iterator[None]:
    """pymodbus's own RTU server, on the far end of the line by way of a second terminal."""
    ready, stop = threading.Event(), threading.Event()
    port = str(line.far_end())

    async def serve() -> None:
        made = ModbusSerialServer(list(devices), port=port, baudrate=115200, trace_packet=mute_nine)
        await made.serve_forever(background=True)
        ready.set()
        while not stop.is_set():
            await asyncio.sleep(0.02)
        await made.shutdown()  # type: ignore[no-untyped-call]

    thread = threading.Thread(target=lambda: asyncio.run(serve()))
    thread.start()
    try:
        assert ready.wait(5)
        yield
    finally:
        stop.set()
        thread.join(5)
        assert not thread.is_alive()


def test_pymodbus_as_the_device_and_a_dead_one_beside_it(line: PtyLine) -> None:
    first = SimDevice(
        1,
        [
            SimData(10, values=[187.5, -0.25], datatype=DataType.FLOAT32),
            SimData(14, values=[65528, 1234], datatype=DataType.REGISTERS),
            SimData(16, values=-70_000, datatype=DataType.INT32),
        ],
    )
    second = SimDevice(7, [SimData(0, values=42, datatype=DataType.REGISTERS)])
    devices = [
        device(
            poll_hz=50,
            timeout_s=2.0,
            value=[
                {"input": "P1", "register": 10, "type": "float32"},
                {"input": "P2", "register": 12, "type": "float32", "scale": 10},
                {"input": "P3", "register": 14, "type": "int16", "scale": 0.1},
                {"input": "P4", "register": 15, "type": "uint16"},
                {"input": "P5", "register": 16, "type": "int32"},
            ],
        ),
        device(name="dead", address=9, poll_hz=50, value=[{"input": "D", "register": 0}]),
        device(
            name="B",
            address=7,
            table="input",
            poll_hz=20,
            timeout_s=2.0,
            value=[{"input": "T", "register": 0}],
        ),
    ]
    with server(line, first, second):
        source = opened(line, *devices, inputs=("P1", "P2", "P3", "P4", "P5", "T"))
        exchange = Exchange(source)
        exchange.until(
            lambda: (
                len(exchange.values(0)) > 40
                and len(exchange.values(2)) > 20
                and len(exchange.kinds) >= 3
            )
        )
        source.close()
    assert [s.name for s in source.streams] == ["A", "dead", "B"]
    assert exchange.values(0)[0] == pytest.approx([187.5, -2.5, -0.8, 1234.0, -70_000.0])
    assert all(row == exchange.values(0)[0] for row in exchange.values(0))
    assert exchange.values(1) == []
    assert exchange.values(2)[0] == [42.0]
    assert set(exchange.kinds) == {"no answer"}
    assert len(exchange.kinds) <= 8, "asked less and less often, it does not stall the others"
    assert exchange.notices == ["“dead” (address 9): no answer"]


# What a sick device makes of a request: nothing, half a frame, noise, a frame of another device.
SICK: dict[str, Callable[[bytes], bytes]] = {
    "silent": lambda _: b"",
    "half a frame": lambda _: with_crc(bytes([9, 3, 4, 0, 0, 0, 0]))[:5],
    "noise": lambda _: bytes(range(128, 140)),
    "another's frame": lambda _: with_crc(bytes([8, 3, 4, 0, 0, 0, 0])),
    "busy": lambda _: with_crc(bytes([9, 0x83, 6])),
}


@pytest.mark.parametrize("kind", SICK)
def test_a_sick_device_leaves_the_well_one_its_turns(line: PtyLine, kind: str) -> None:
    sick = device(name="sick", address=9, value=[{**FLOAT, "input": "D"}], poll_hz=50)
    exchange = Exchange(opened(line, device(poll_hz=50), sick, inputs=("P1", "D")))
    asked = Counter[int]()

    def well_asked_ten_times() -> bool:
        request = line.received(len(ASK), 0.002)
        while 0 < len(request) < len(ASK):
            request += line.received(len(ASK) - len(request), 0.002)
        if request:
            asked[request[0]] += 1
            line.send(ANSWER if request[0] == 1 else SICK[kind](request))
        return len(exchange.values()) >= 10

    exchange.until(well_asked_ten_times)
    exchange.source.close()
    assert all(row == [pytest.approx(245.6)] for row in exchange.values())
    assert exchange.values(1) == [], "no number is made of what is no answer"
    assert asked[9] < asked[1], "it is asked less often than the well one"
    assert exchange.kinds


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"address": 0}, "greater than or equal to 1"),
        ({"value": [FLOAT, {**FLOAT, "input": "P2", "register": 1}]}, "both lie on register 1"),
        ({"value": [FLOAT, {**FLOAT, "input": "P2", "register": 200}]}, "list it as two devices"),
        ({"value": [FLOAT, {**FLOAT, "register": 2}]}, "the input “P1” is given twice"),
        ({"value": []}, "at least 1 item"),
        ({"tables": "holding"}, "Extra inputs"),
    ],
)
def test_wrong_options_are_refused(changes: dict[str, Any], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        ModbusOptions.model_validate({"port": "x", "device": [device(**changes)]})


def test_an_input_that_no_device_has_is_refused(line: PtyLine) -> None:
    with pytest.raises(SourceError, match="“P9” is a value of no device"):
        opened(line, device(), inputs=("P1", "P9"))
