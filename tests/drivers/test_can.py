"""Drivers `j1939` and `canopen-pressure` on python-can's virtual bus and a serial adapter."""

from __future__ import annotations

import struct
import time
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any
from uuid import uuid4

import can
import canopen
import pytest
from canopen.objectdictionary import ObjectDictionary, ODRecord, ODVariable
from gaugebench_drivers import canopen_pressure, j1939
from gaugebench_drivers.canopen_pressure import CanopenOptions
from gaugebench_drivers.j1939 import J1939Options
from pydantic import ValidationError

from gaugebench.acquire.clock import ManualClock, SystemClock
from gaugebench.driver import Clock, Input, Reading, Source
from gaugebench.errors import SourceError, SourceLost
from gaugebench.wire.slcan import CanFrame, encode

if TYPE_CHECKING:
    from tests.conftest import PtyLine

RPM = {"input": "rpm", "spn": 190}
EEC1 = bytes.fromhex("000000204E000000")


@pytest.fixture
def bus() -> Iterator[can.BusABC]:
    """The machine's side of a virtual bus of its own."""
    with can.Bus(interface="virtual", channel=uuid4().hex) as made:
        yield made


def virtual(bus: can.BusABC) -> dict[str, Any]:
    return {"interface": "virtual", "port": bus.channel_id}  # type: ignore[attr-defined]


def engine(options: dict[str, Any], *spn: dict[str, Any]) -> Source:
    checked = J1939Options.model_validate({**options, "spn": list(spn)})
    inputs = [Input(s["input"], "") for s in spn]
    return j1939.DRIVER.open(checked, inputs, SystemClock())


def send(bus: can.BusABC, identifier: int, data: bytes, *, extended: bool = True) -> None:
    bus.send(can.Message(arbitration_id=identifier, data=data, is_extended_id=extended))


def read_until(source: Source, enough: Callable[[list[Reading]], bool]) -> list[Reading]:
    got: list[Reading] = []
    until = time.monotonic() + 30
    while not enough(got):
        assert time.monotonic() < until, f"only {got} came"
        got.append(source.read(0.05))
    return got


def rows(readings: list[Reading], stream: int = 0) -> list[list[float]]:
    batches = [b for r in readings for b in r.batches if b.stream == stream]
    return [row for b in batches for row in b.raw.tolist()]


def test_engine_speed_is_heard_and_other_traffic_passed_over(bus: can.BusABC) -> None:
    source = engine(virtual(bus), RPM)
    send(bus, 0x18FEEE00, bytes(8))
    send(bus, 0x123, EEC1, extended=False)
    for n in range(100):
        send(bus, 0x0CF00400, struct.pack("<3xHxxx", 8 * (1800 + n)))
    got = read_until(source, lambda r: len(rows(r)) == 100)
    assert rows(got) == [[1800.0 + n] for n in range(100)]
    assert all(not r.rejects for r in got)
    source.close()


def test_parameters_of_one_group_are_one_stream(bus: can.BusABC) -> None:
    source = engine(
        virtual(bus),
        {"input": "coolant", "spn": 110},
        RPM,
        {"input": "oil", "spn": 175},
        {"input": "level", "pgn": 65276, "byte": 2, "bits": 8, "step": 0.4, "unit": "%"},
    )
    assert [[i.name for i in s.inputs] for s in source.streams] == [
        ["coolant", "oil"], ["rpm"], ["level"],
    ]  # fmt: skip
    assert [i.unit for i in source.streams[0].inputs] == ["°C", "°C"]
    send(bus, 0x18FEEE00, struct.pack("<BxH4x", 130, 10_400))
    send(bus, 0x18FEFC21, bytes([0xFF, 125, 0, 0, 0, 0, 0, 0]))
    got = read_until(source, lambda r: bool(rows(r, 0) and rows(r, 2)))
    assert rows(got, 0) == [[90.0, 52.0]]
    assert rows(got, 2) == [[pytest.approx(50.0)]]
    source.close()


def test_two_controllers_are_not_mixed(bus: can.BusABC) -> None:
    source = engine(virtual(bus), RPM)
    for sender, speed in ((0x00, 1800), (0x01, 900), (0x00, 1801)):
        send(bus, 0x0CF00400 | sender, struct.pack("<3xHxxx", 8 * speed))
    assert rows(read_until(source, lambda r: len(rows(r)) == 2)) == [[1800.0], [1801.0]]
    source.close()
    source = engine(virtual(bus), {**RPM, "source": 1})
    for sender, speed in ((0x00, 1800), (0x01, 900)):
        send(bus, 0x0CF00400 | sender, struct.pack("<3xHxxx", 8 * speed))
    assert rows(read_until(source, lambda r: bool(rows(r)))) == [[900.0]]
    source.close()


def test_a_short_frame_is_a_reject_and_a_missing_value_is_missing(bus: can.BusABC) -> None:
    source = engine(virtual(bus), RPM)
    send(bus, 0x0CF00400, EEC1[:4])
    send(bus, 0x0CF00400, b"\xff" * 8)
    got = read_until(source, lambda r: bool(rows(r)))
    assert rows(got) == [[pytest.approx(float("nan"), nan_ok=True)]]
    assert [x.kind for r in got for x in r.rejects] == ["too short"]
    source.close()


def test_a_serial_adapter_is_set_going_and_read(line: PtyLine) -> None:
    source = engine({"interface": "slcan", "port": str(line.path)}, RPM)
    assert line.received(8) == b"\rC\rS5\rL\r", "it only listens"
    line.send(b"\r" + encode(CanFrame(0x0CF00400, EEC1, extended=True)) * 50 + b"noise\r")
    got = read_until(source, lambda r: len(rows(r)) == 50 and any(x.rejects for x in r))
    assert rows(got) == [[2500.0]] * 50
    assert [(x.kind, x.raw) for r in got for x in r.rejects] == [("not a frame", b"noise")]
    line.unplug()
    with pytest.raises(SourceLost, match="ttyKIT0"):
        read_until(source, lambda _: False)
    source.close()


def test_a_bus_that_is_not_there_is_told() -> None:
    for options in (
        {"interface": "nonesuch", "port": "x"},
        {"interface": "socketcan", "port": "can99"},
        {"interface": "slcan", "port": "/dev/no-such-port"},
    ):
        with pytest.raises(SourceError, match="cannot be opened"):
            engine(options, RPM)


@pytest.mark.parametrize(
    ("spn", "said"),
    [
        ({"input": "x", "spn": 5}, "needs pgn and byte, or an spn that is known"),
        ({"input": "x", "pgn": 5}, "needs the byte"),
        ({"input": "x", "pgn": 5, "byte": 8}, "beyond the eighth byte"),
    ],
)
def test_wrong_parameters_are_refused(spn: dict[str, Any], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        J1939Options.model_validate({"port": "can0", "spn": [spn]})
    with pytest.raises(ValidationError, match="given twice"):
        J1939Options.model_validate({"port": "can0", "spn": [RPM, RPM]})


PDO = {"node": 5, "value": [{"input": "P1", "type": "float32"}]}


def transmitters(
    options: dict[str, Any], *pdo: dict[str, Any], clock: Clock | None = None, **more: Any
) -> Source:
    checked = CanopenOptions.model_validate({**options, **more, "pdo": list(pdo)})
    inputs = [Input(v["input"], "bar") for p in pdo for v in p["value"]]
    return canopen_pressure.DRIVER.open(checked, inputs, clock or SystemClock())


def test_a_transmitter_made_of_the_canopen_library(bus: can.BusABC) -> None:
    dictionary = ObjectDictionary()  # type: ignore[no-untyped-call]
    # Process values lie from 6130h on in the profile for measuring devices (CiA 404, from memory).
    value = ODVariable("process value", 0x6130, 1)
    value.data_type = canopen.objectdictionary.datatypes.REAL32
    record = ODRecord("process values", 0x6130)
    record.add_member(value)
    dictionary.add_object(record)
    for entry in (0x1800, 0x1A00):
        parameters = ODRecord(f"{entry:X}", entry)
        for sub in range(3):
            member = ODVariable(f"{entry:X}.{sub}", entry, sub)
            member.data_type = canopen.objectdictionary.datatypes.UNSIGNED32
            parameters.add_member(member)
        dictionary.add_object(parameters)
    network = canopen.Network(bus)
    node = canopen.LocalNode(5, dictionary)
    network.add_node(node)
    pdo = node.tpdo[1]
    pdo.cob_id = 0x185
    pdo.clear()
    pdo.add_variable(0x6130, 1)

    source = transmitters(virtual(bus), PDO)
    for pressure in (187.5, 343.25, -0.5):
        pdo["process values.process value"].raw = pressure
        pdo.transmit()
    node.emcy.send(0x8110)
    node.nmt.send_command(0)
    got = read_until(source, lambda r: len([n for x in r for n in x.notices]) == 2)
    assert rows(got) == [[187.5], [343.25], [-0.5]]
    notices = [n for r in got for n in r.notices]
    assert [n.text for n in notices] == ["Node 5 reports fault 8110h.", "Node 5 started."]
    assert [n.restarted for n in notices] == [False, True]
    source.close()


def test_several_values_in_a_pdo_and_several_pdos(bus: can.BusABC) -> None:
    source = transmitters(
        virtual(bus),
        {"node": 5, "value": [{"input": "A", "type": "int16", "scale": 0.1},
                              {"input": "B", "byte": 2, "type": "uint16"}]},
        {"node": 5, "number": 2, "cob_id": 0x3A0, "rate_hz": 10, "value": [{"input": "C"}]},
    )  # fmt: skip
    assert [s.rate_hz for s in source.streams] == [None, 10.0]
    send(bus, 0x185, struct.pack("<hH", -8, 1234), extended=False)
    send(bus, 0x3A0, struct.pack("<f", 2.5), extended=False)
    send(bus, 0x3A0, b"\x00", extended=False)
    send(bus, 0x285, struct.pack("<f", 9.5), extended=False)
    got = read_until(source, lambda r: bool(rows(r, 1)))
    assert rows(got, 0) == [[pytest.approx(-0.8), 1234.0]]
    assert rows(got, 1) == [[2.5]]
    assert [x.kind for r in got for x in r.rejects] == ["too short"]
    source.close()


def test_nodes_are_started_and_synchronised_when_asked_for(bus: can.BusABC) -> None:
    clock = ManualClock()
    source = transmitters(virtual(bus), PDO, clock=clock, start=True, sync_every_s=1 / 16)
    heard = bus.recv(30.0)
    assert heard is not None
    assert (heard.arbitration_id, bytes(heard.data)) == (0x000, bytes([1, 5]))
    syncs = 0
    for _ in range(64):
        source.read(0.0)
        clock.sleep(1 / 64)
        while (heard := bus.recv(0)) is not None:
            syncs += heard.arbitration_id == 0x080
    assert syncs == 16, "a second"
    assert source.streams[0].rate_hz == 16.0
    source.close()


def test_a_bus_that_is_only_listened_to_hears_nothing(bus: can.BusABC) -> None:
    for source in (engine(virtual(bus), RPM), transmitters(virtual(bus), PDO)):
        source.read(0.05)
        source.close()
    assert bus.recv(0.05) is None


@pytest.mark.parametrize(
    ("pdo", "said"),
    [
        ([PDO, {"node": 6, "value": [{"input": "P1"}]}], "the input “P1” is given twice"),
        ([PDO, {"node": 5, "value": [{"input": "P2"}]}], "the identifier “185h” is given twice"),
        ([{"node": 0, "value": [{"input": "P2"}]}], "greater than or equal to 1"),
    ],
)
def test_wrong_pdos_are_refused(pdo: list[dict[str, Any]], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        CanopenOptions.model_validate({"port": "can0", "pdo": pdo})
