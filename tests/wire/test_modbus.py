"""Modbus RTU frames and numbers against published frames and pymodbus.

Modbus ASCII and its LRC are left out: the driver speaks RTU alone. So is the 1.5 characters' pause
inside a frame: no USB bridge keeps it, so a frame is judged by its length and CRC.
"""

from __future__ import annotations

import math
import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pymodbus.client.mixin import ModbusClientMixin
from pymodbus.framer import FramerRTU

from gaugebench.wire.checksum import MODBUS
from gaugebench.wire.modbus import (
    Failure,
    NumberType,
    Order,
    Reply,
    Table,
    is_suspicious,
    is_whole,
    number,
    parse_reply,
    proposed_orders,
    read_request,
    silence_s,
    with_crc,
)

ASK = bytes.fromhex("01 03 00 00 00 02 C4 0B")
ORDERS = ("ABCD", "CDAB", "BADC", "DCBA")
ANSWER = bytes.fromhex("01 03 04 43 75 99 9A 14 56")


def test_the_check_value_of_the_catalogue() -> None:
    assert MODBUS.of(b"123456789") == 0x4B37  # public catalogue of CRC algorithms, CRC-16/MODBUS


@pytest.mark.parametrize(
    ("body", "crc"),
    [
        # MODBUS over Serial Line V1.02, example of a CRC; then frames in the form of the
        # application protocol V1.1b3 with their CRC as printed in public worked examples.
        ("02 07", "41 12"),
        ("11 03 00 6B 00 03", "76 87"),
        ("11 03 06 AE 41 56 52 43 40", "49 AD"),
        ("11 01 00 13 00 25", "0E 84"),
        ("11 02 00 C4 00 16", "BA A9"),
        ("11 04 00 08 00 01", "B2 98"),
        ("01 03 00 00 00 0A", "C5 CD"),
        ("01 03 00 00 00 02", "C4 0B"),
        ("01 03 00 00 00 2C", "44 17"),
        ("01 03 00 02 00 01", "25 CA"),
        ("10 06 02 02 00 03", "6A F2"),
        ("11 05 00 AC FF 00", "4E 8B"),
        ("11 06 00 01 00 03", "9A 9B"),
        ("11 10 00 01 00 02 04 00 0A 01 02", "C6 F0"),
        # github.com/pymodbus-dev/pymodbus test/framer/test_framer.py
        ("00 83 02", "91 31"),
        ("12 34 23 45 34 56 45 67", "E2 DB"),
    ],
)
def test_frames_close_with_the_published_crc(body: str, crc: str) -> None:
    assert with_crc(bytes.fromhex(body))[-2:] == bytes.fromhex(crc)


def test_a_wrong_crc_is_not_whole() -> None:
    assert is_whole(bytes.fromhex("00 83 02 91 31"))
    assert not is_whole(bytes.fromhex("00 83 02 91 21"))


@given(st.binary(max_size=60))
def test_the_crc_is_that_of_pymodbus(data: bytes) -> None:
    # pymodbus gives the two bytes in the order of the wire.
    assert MODBUS.of(data).to_bytes(2, "little") == FramerRTU.compute_CRC(data).to_bytes(2)


@pytest.mark.parametrize(
    ("request_", "frame"),
    [
        ((0x11, Table.HOLDING, 0x6B, 3), "11 03 00 6B 00 03 76 87"),
        ((0x11, Table.INPUT, 8, 1), "11 04 00 08 00 01 B2 98"),
        ((1, Table.HOLDING, 0, 2), "01 03 00 00 00 02 C4 0B"),
        ((1, Table.HOLDING, 2, 1), "01 03 00 02 00 01 25 CA"),
    ],
)
def test_requests(request_: tuple[int, Table, int, int], frame: str) -> None:
    assert read_request(*request_) == bytes.fromhex(frame)


@pytest.mark.parametrize("wrong", [(0, 0, 1), (248, 0, 1), (1, 65536, 1), (1, 0, 0), (1, 0, 126)])
def test_impossible_requests_are_refused(wrong: tuple[int, int, int]) -> None:
    address, first, count = wrong
    with pytest.raises(ValueError, match="cannot ask"):
        read_request(address, Table.HOLDING, first, count)


def test_a_reply_of_three_registers() -> None:
    ask = bytes.fromhex("11 03 00 6B 00 03 76 87")
    reply = parse_reply(ask, bytes.fromhex("11 03 06 AE 41 56 52 43 40 49 AD"))
    assert reply == Reply((44609, 22098, 17216))
    assert number((44609,), NumberType.INT16) == -20927


def test_a_stray_zero_before_the_answer_is_skipped_once_and_told() -> None:
    assert parse_reply(ASK, b"\x00" + ANSWER) == Reply((0x4375, 0x999A), stray=True)
    assert isinstance(parse_reply(ASK, b"\x00\x00" + ANSWER), Failure)
    assert parse_reply(ASK, b"\x00") is None
    assert number((0x4375, 0x999A), NumberType.FLOAT32) == pytest.approx(245.6)


def test_the_echo_of_the_request_is_taken_off() -> None:
    assert parse_reply(ASK, ASK + ANSWER) == Reply((0x4375, 0x999A))
    for cut in range(len(ASK + ANSWER)):
        assert parse_reply(ASK, (ASK + ANSWER)[:cut]) is None
    assert parse_reply(ASK, ASK + b"\x00" + ANSWER) == Reply((0x4375, 0x999A), stray=True)


@pytest.mark.parametrize("bit", range(8 * len(ANSWER)))
def test_a_bit_error_gives_no_value(bit: int) -> None:
    broken = bytearray(ANSWER)
    broken[bit // 8] ^= 1 << (bit % 8)
    assert not isinstance(parse_reply(ASK, bytes(broken)), Reply)


def test_the_damaged_answer_of_the_field() -> None:
    broken = bytes.fromhex("01 03 04 43 65 99 9A 14 56")
    assert parse_reply(ASK, broken) == Failure("checksum", broken)


@pytest.mark.parametrize(
    ("code", "said"),
    [(1, "bad function"), (2, "bad address"), (3, "bad value"), (4, "device failure"), (6, "busy"),
     (99, "error 99")],
)  # fmt: skip
def test_an_exception_is_the_devices_word(code: int, said: str) -> None:
    reply = with_crc(bytes([1, 0x83, code]))
    assert parse_reply(ASK, reply) == Failure(f"device says: {said}", reply, from_device=True)


def test_the_published_exception_frame() -> None:
    reply = bytes.fromhex("01 83 02 C0 F1")
    assert parse_reply(ASK, reply) == Failure("device says: bad address", reply, from_device=True)
    assert parse_reply(ASK, bytes.fromhex("01 83 03 C0 F1")) == Failure(
        "checksum", bytes.fromhex("01 83 03 C0 F1")
    )


@pytest.mark.parametrize("cut", range(len(ANSWER)))
def test_half_an_answer_is_waited_for(cut: int) -> None:
    assert parse_reply(ASK, ANSWER[:cut]) is None


@pytest.mark.parametrize("other", ["02 03 04 43 75 99 9A 14 56", "01 04 04 43 75 99 9A 14 56"])
def test_the_answer_of_another_is_not_taken(other: str) -> None:
    assert parse_reply(ASK, bytes.fromhex(other)) == Failure("not an answer", bytes.fromhex(other))


@given(st.binary(max_size=40))
def test_nothing_that_arrives_can_raise(data: bytes) -> None:
    found = parse_reply(ASK, data)
    if isinstance(found, Reply):
        assert len(found.registers) == 2
        assert is_whole(ANSWER)


@pytest.mark.parametrize(
    ("value", "words"),
    [
        # 10.0 in big-endian order as in a public Modbus tool's table; the others by struct.
        (10.0, dict(zip(ORDERS, ("41200000", "00004120", "20410000", "00002041"), strict=True))),
        (
            123456.0,
            {"ABCD": "47F12000", "CDAB": "200047F1", "BADC": "F1470020", "DCBA": "0020F147"},
        ),
    ],
)
def test_floats_in_every_order(value: float, words: dict[str, str]) -> None:
    for order, text in words.items():
        registers = struct.unpack(">2H", bytes.fromhex(text))
        assert number(registers, NumberType.FLOAT32, Order(order)) == value


@pytest.mark.parametrize(
    ("reply", "value"),
    [("05 03 04 80 00 43 3B E6 D0", 187.5), ("05 03 04 99 9A 43 AB C1 CF", 343.2)],
)
def test_swapped_words_of_the_field(reply: str, value: float) -> None:
    found = parse_reply(read_request(5, Table.HOLDING, 0, 2), bytes.fromhex(reply))
    assert isinstance(found, Reply)
    assert number(found.registers, NumberType.FLOAT32, Order.CDAB) == pytest.approx(value)
    assert is_suspicious(number(found.registers, NumberType.FLOAT32, Order.ABCD))


@given(st.floats(width=32, allow_nan=False, allow_infinity=False))
def test_words_are_those_of_pymodbus(value: float) -> None:
    kind = ModbusClientMixin.DATATYPE.FLOAT32
    big = ModbusClientMixin.convert_to_registers(value, kind, word_order="big")
    little = ModbusClientMixin.convert_to_registers(value, kind, word_order="little")
    assert number(big, NumberType.FLOAT32, Order.ABCD) == value
    assert number(little, NumberType.FLOAT32, Order.CDAB) == value


@pytest.mark.parametrize(
    ("kind", "registers", "value"),
    [
        (NumberType.INT16, (0xFFF8,), -8.0),
        (NumberType.UINT16, (0xFFF8,), 65528.0),
        (NumberType.INT32, (0xFFFF, 0xFFFE), -2.0),
        (NumberType.UINT32, (0x0001, 0x0000), 65536.0),
    ],
)
def test_whole_numbers(kind: NumberType, registers: tuple[int, ...], value: float) -> None:
    assert number(registers, kind) == value


def test_a_float_that_is_no_number_is_missing() -> None:
    assert math.isnan(number((0x7FC0, 0), NumberType.FLOAT32))
    assert math.isnan(number((0x7F80, 0), NumberType.FLOAT32))


def test_an_order_is_proposed_from_several_readings_and_never_from_one() -> None:
    first, second = (0x8000, 0x433B), (0x999A, 0x43AB)
    assert proposed_orders([first, second], 0.0, 600.0) == (Order.CDAB,)
    assert proposed_orders([first], 0.0, 600.0) == ()
    assert proposed_orders([first, first], 0.0, 600.0) == ()
    assert proposed_orders([first, second], 0.0, 200.0) == ()


@pytest.mark.parametrize(
    ("baud", "silence"), [(9600, 4.010417e-3), (19200, 2.005208e-3), (115200, 1.75e-3)]
)
def test_the_pause_between_frames(baud: int, silence: float) -> None:
    # MODBUS over Serial Line V1.02: 3.5 characters of 11 bits; 1.750 ms above 19200 baud.
    assert silence_s(baud) == pytest.approx(silence, rel=1e-6)
