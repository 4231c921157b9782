"""Every voice over a real pseudo-terminal, heard by the driver that understands it."""

from __future__ import annotations

import time

import numpy as np
import pytest

from gaugebench.acquire.clock import SystemClock
from gaugebench.acquire.registry import load
from gaugebench.driver import Input, Source
from gaugebench.simulate.board import Board
from gaugebench.simulate.moves import Move, Script
from gaugebench.simulate.voices import FIELDS, VOICES, ModbusRtu, Scpi, Voice
from gaugebench.wire.modbus import Failure, Reply, Table, parse_reply, read_request, with_crc


def hear(source: Source, board: Board, seconds: float) -> np.ndarray:
    rows, until = [], time.monotonic() + seconds
    quiet = 0
    while time.monotonic() < until and quiet < 3:
        reading = source.read(0.1)
        rows += [batch.raw for batch in reading.batches]
        quiet = quiet + 1 if board.finished and not reading.batches else 0
        # Asked before it is up, a board does not answer; joined midway, a line is half.
        usual = {"first line", "first frame", "no answer"}
        assert not [r for r in reading.rejects if r.kind not in usual]
    return np.concatenate(rows)


@pytest.mark.parametrize("name", VOICES)
def test_a_driver_hears_what_the_board_sent(name: str) -> None:
    voice: Voice = VOICES[name]()
    driver = load(name)
    script = Script(1.5, (Move("bucket", 0.2, 0.5),), rate_hz=100.0)
    board = Board(script, voice=voice, wait_s=0.3, reader_wait_s=2.0)
    options = driver.options.model_validate(voice.options(board.port, script.rate_hz))
    inputs = [Input(n, "rpm" if n == "rpm" else "V") for n in FIELDS]
    source = driver.open(options, inputs, SystemClock())
    try:
        with board:
            heard = hear(source, board, 60.0)
    finally:
        source.close()
    sent = np.array([s.row for s in board.rows])
    assert board.lost == 0
    asked = name in {"modbus-rtu", "scpi"}
    # How often one that is asked answers is the machine's speed; that it answers is the test.
    assert len(sent) >= 3 if asked else len(sent) == 150
    # An answer to the last question may come when nobody listens any more.
    assert len(sent) - len(heard) in ({0, 1} if asked else {0})
    assert np.allclose(heard, sent[: len(heard)], rtol=1e-9)


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
