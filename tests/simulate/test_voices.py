"""Every voice over its real carrier, heard by the driver that understands it."""

from __future__ import annotations

import os
import select
import time
from collections.abc import Callable, Sequence

import numpy as np
import pytest

from gaugebench.acquire.clock import SystemClock
from gaugebench.acquire.registry import load, names
from gaugebench.driver import Input, Source
from gaugebench.simulate.board import Board
from gaugebench.simulate.carriers import Carrier, SerialAdapter, VirtualBus
from gaugebench.simulate.moves import Move, Script
from gaugebench.simulate.perform import Performance
from gaugebench.simulate.pinvoices import IioAdc
from gaugebench.simulate.rig import Rig
from gaugebench.simulate.voice import VOLTS_A_RPM, Voice
from gaugebench.simulate.voices import VOICES, ModbusRtu, Scpi
from gaugebench.wire.modbus import Failure, Reply, Table, parse_reply, read_request, with_crc
from gaugebench.wire.slcan import CanFrame, encode, opening

CASES: list[tuple[str, Callable[[], Carrier] | None]] = [
    *((name, None) for name in VOICES),
    ("j1939", VirtualBus),
    ("canopen-pressure", VirtualBus),
]
ASKED = {"modbus-rtu", "scpi"}
# Asked before it is up, a board does not answer; joined midway, a line is half.
USUAL = {"first line", "first frame", "no answer"}


def hear(
    source: Source, board: Board, names: Sequence[str], is_enough: Callable[[], bool]
) -> np.ndarray:
    """All rows that came, in the order of `names`, from as many streams as there are."""
    columns: dict[str, list[float]] = {name: [] for name in names}
    until, quiet = time.monotonic() + 60.0, 0
    while time.monotonic() < until and quiet < 3 and not is_enough():
        reading = source.read(0.1)
        for batch in reading.batches:
            inputs = source.streams[batch.stream].inputs
            for given, column in zip(inputs, batch.raw.T.tolist(), strict=True):
                columns[given.name] += column
        quiet = quiet + 1 if board.finished and not reading.batches else 0
        assert not [r for r in reading.rejects if r.kind not in USUAL]
    return np.array([columns[name] for name in names]).T


def _has_told(board: Board) -> bool:
    """Whether three answers or more reach past the move."""
    return len(board.rows) >= 3 and board.rows[-1].t_ms >= 800


@pytest.mark.parametrize(("name", "carrier"), CASES)
def test_a_driver_hears_what_the_machine_did(
    name: str, carrier: Callable[[], Carrier] | None
) -> None:
    voice: Voice = VOICES[name]()
    # How often one that is asked answers is the machine's speed: it plays on until it has.
    is_asked = name in ASKED
    script = Script(30.0 if is_asked else 0.8, (Move("bucket", 0.2, 0.5),), rate_hz=100.0)
    board = Board(
        script, voice=voice, wait_s=0.3, reader_wait_s=30.0, carrier=carrier() if carrier else None
    )
    driver, (kit_source,) = load(name), board.kit.source
    options = driver.options.model_validate(kit_source.options)
    inputs = [Input(c.input, c.unit) for c in kit_source.channel]
    source = driver.open(options, inputs, SystemClock())
    try:
        with board:
            heard = hear(source, board, voice.inputs, lambda: is_asked and _has_told(board))
    finally:
        source.close()
    sent = np.array([s.row for s in board.rows])
    assert board.lost == 0
    assert len(sent) >= 3 if is_asked else len(sent) == 80
    # An answer to the last question may come when nobody listens any more.
    assert len(sent) - len(heard) in ({0, 1} if is_asked else {0})
    np.testing.assert_allclose(heard, sent[: len(heard)], rtol=1e-9)
    # The same machine once more, without a board: no number is off by more than a converter's step.
    again, rig = Performance(script), Rig(seed=script.seed)
    places = [round(s.t_ms / 10) for s in board.rows]
    rows = np.array([rig.sample(again.at(n / 100), n / 100) for n in range(max(places) + 1)])
    taken = rows[places][: len(heard)]
    if voice.speed_in_volts:
        heard[:, -1] /= VOLTS_A_RPM
    step = getattr(voice, "step_v", 5.0 / (2**14 - 1))
    np.testing.assert_allclose(heard[:, :-1], taken[:, :-1], rtol=0, atol=step)
    np.testing.assert_allclose(
        heard[:, -1], taken[:, -1], rtol=0, atol=step / VOLTS_A_RPM if voice.speed_in_volts else 0.1
    )


def test_there_is_a_voice_for_every_driver_of_a_device() -> None:
    assert set(VOICES) == set(names()) - {"practice", "replay"}


def _answers(adapter: SerialAdapter, end: int, size: int) -> tuple[bytes, bytes]:
    """So many bytes at the far end, in however many pieces a terminal brings them; frames heard."""
    told = frames = b""
    until = time.monotonic() + 60.0
    while len(told) < size and time.monotonic() < until:
        frames += adapter.read(0.05)
        if select.select([end], [], [], 0.0)[0]:
            told += os.read(end, 64)
    return told, frames


def test_a_serial_adapter_passes_frames_only_while_the_bus_is_open() -> None:
    adapter = SerialAdapter()
    end = os.open(adapter.port, os.O_RDWR | os.O_NOCTTY)
    frame = encode(CanFrame(0x123, b"\x01"))
    try:
        assert adapter.write(frame) == 0
        os.write(end, opening(250_000, listen_only=True) + b"S5\r" + frame)
        # Shut, closed, its speed, opened; then no speed while it is open, and it only listens.
        assert _answers(adapter, end, 6) == (b"\r\r\r\r\x07\x07", b"")
        assert adapter.write(frame) == len(frame)
        assert _answers(adapter, end, len(frame)) == (frame, b"")
        os.write(end, b"C\rO\r" + frame)
        assert _answers(adapter, end, 4) == (b"\r\rz\r", frame)
    finally:
        os.close(end)
        adapter.close()


def test_the_kernels_folders_hand_out_what_is_switched_on() -> None:
    voice = IioAdc()
    folder = voice.carrier()
    try:
        driver = load("iio-adc")
        scan, sent = voice.say(0.25, (0.5, 1.0, 1.5, 2.0, 2.5, 2000.0))
        assert folder.write(scan) == 0, "nobody has switched its buffer on"
        options = driver.options.model_validate(folder.options())
        source = driver.open(options, [Input("voltage5", "V")], SystemClock())
        assert folder.write(scan) == len(scan)
        (batch,) = source.read(1.0).batches
        assert batch.raw.tolist() == [[pytest.approx(sent[0].row[5])]]
        assert batch.device_s is not None
        assert batch.device_s.tolist() == [0.25]
        source.close()
        assert folder.write(scan) == 0
    finally:
        folder.close()


def test_the_slave_refuses_what_it_does_not_have_and_leaves_others_alone() -> None:
    slave = ModbusRtu()
    slave.say(1.0, (0.5, 1.0, 1.5, 2.0, 2.5, 2000.0))
    whole = read_request(5, Table.HOLDING, 0, 12)
    answer, sent = slave.hear(whole[:3])
    assert (answer, sent) == (b"", [])
    answer, sent = slave.hear(whole[3:])
    found = parse_reply(whole, answer)
    assert isinstance(found, Reply)
    assert len(found.registers) == 12
    assert sent[0].row == (0.5, 1.0, 1.5, 2.0, 2.5, 2000.0)
    beyond = read_request(5, Table.HOLDING, 10, 4)
    refused = parse_reply(beyond, slave.hear(beyond)[0])
    assert isinstance(refused, Failure)
    assert refused.from_device
    write = with_crc(bytes([5, 6, 0, 0, 0, 1]))
    assert slave.hear(write)[0] == with_crc(bytes([5, 0x86, 1]))
    assert slave.hear(read_request(6, Table.HOLDING, 0, 2)) == (b"", [])
    noisy, _ = slave.hear(b"\x00" + whole)
    assert noisy == answer


def test_the_scanner_answers_what_it_knows() -> None:
    scanner = Scpi()
    assert scanner.hear(b"READ?\n") == (b"", [])
    scanner.say(0.5, (0.5, 1.0, 1.5, 2.0, 2.5, 2000.0))
    answer, sent = scanner.hear(b"*IDN?\nRE")
    assert answer.startswith(b"practice,")
    assert not sent
    answer, sent = scanner.hear(b"AD?\nFETCH?\n")
    assert answer == (
        b"+5.00000E-01,+1.00000E+00,+1.50000E+00,+2.00000E+00,+2.50000E+00,+2.00000E+03\n"
    )
    assert sent[0].t_ms == 500
