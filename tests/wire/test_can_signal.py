"""J1939 and CANopen numbers against published frames."""

from __future__ import annotations

import math
import struct

import pytest
from canopen import RemoteNode
from canopen.objectdictionary import ObjectDictionary
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.wire.can_signal import (
    COB_NMT,
    COB_SYNC,
    COB_TIME,
    KNOWN_SPNS,
    J1939Id,
    Spn,
    cob_emergency,
    cob_heartbeat,
    cob_rpdo,
    cob_sdo,
    cob_tpdo,
    j1939_id,
    typed_value,
    unsigned,
)

EEC1 = bytes.fromhex("000000204E000000")


def test_the_published_engine_speed_frame() -> None:
    # github.com/EvanL1/voltage-j1939, README: 0x0CF00400, bytes 4 and 5 are 204Eh little-endian.
    assert j1939_id(0x0CF00400) == J1939Id(priority=3, pgn=61444, source=0, destination=None)
    assert KNOWN_SPNS[190].value(EEC1) == 2500.0


@pytest.mark.parametrize(
    ("spn", "raw", "value"),
    [
        # docs.rs canparse tests/data/sample.dbc (8031.88 rpm the highest), voltage_j1939 decoder.
        (190, 0xFAFF, 8031.875),
        (190, 0xFB00, math.nan),
        (190, 0xFE00, math.nan),
        (190, 0xFFFF, math.nan),
        (190, 0, 0.0),
        (110, 130, 90.0),
        (110, 0, -40.0),
        (110, 250, 210.0),
        (110, 251, math.nan),
        (110, 255, math.nan),
        (175, 10_400, 52.0),  # from memory: 0.03125 °C a bit from -273 °C
        (1638, 95, 55.0),  # from memory: 1 °C a bit from -40 °C
    ],
)
def test_parameters_at_their_ends(spn: int, raw: int, value: float) -> None:
    parameter = KNOWN_SPNS[spn]
    data = (raw << (8 * (parameter.first_byte - 1))).to_bytes(8, "little")
    assert parameter.value(data) == pytest.approx(value, nan_ok=True)


def test_a_flag_of_two_bits() -> None:
    flag = Spn(65265, first_byte=1, bits=2, step=1, offset=0, unit="", first_bit=3)
    assert [flag.value(bytes([n << 2])) for n in (0, 1)] == [0.0, 1.0]
    assert all(math.isnan(flag.value(bytes([n << 2]))) for n in (2, 3))


def test_a_frame_that_is_too_short_is_told() -> None:
    with pytest.raises(ValueError, match="do not reach"):
        KNOWN_SPNS[190].value(EEC1[:4])
    with pytest.raises(ValueError, match="do not hold"):
        typed_value(b"\x00\x00\x00", 0, "float32")


def test_an_addressed_group_keeps_its_destination() -> None:
    # SAE J1939-21, from memory: below 240 the second byte is a destination, not part of the group.
    assert j1939_id(0x18EA21F9) == J1939Id(priority=6, pgn=0xEA00, source=0xF9, destination=0x21)


@given(st.binary(min_size=1, max_size=8), st.data())
def test_bits_are_those_of_the_whole_number(data: bytes, draw: st.DataObject) -> None:
    first = draw.draw(st.integers(0, 8 * len(data) - 1))
    bits = draw.draw(st.integers(1, 8 * len(data) - first))
    text = "".join(f"{byte:08b}"[::-1] for byte in data)
    assert unsigned(data, first, bits) == int(text[first : first + bits][::-1], 2)


@pytest.mark.parametrize(
    ("kind", "code", "value"),
    [("int8", "<b", -5), ("uint8", "<B", 250), ("int16", "<h", -300), ("uint16", "<H", 65_000),
     ("int32", "<i", -70_000), ("uint32", "<I", 4_000_000_000), ("float32", "<f", 187.5)],
)  # fmt: skip
def test_typed_values(kind: str, code: str, value: float) -> None:
    assert typed_value(b"\xaa" + struct.pack(code, value), 1, kind) == value


def test_a_float_that_is_no_number_is_missing() -> None:
    assert math.isnan(typed_value(struct.pack("<f", math.inf), 0, "float32"))


def test_identifiers_are_those_of_the_canopen_library() -> None:
    # All but that of NMT, which is from memory (CiA 301), are read in the library's source.
    assert (COB_NMT, COB_SYNC, COB_TIME) == (0x000, 0x080, 0x100)
    assert (cob_emergency(5), cob_tpdo(5, 1), cob_rpdo(5, 1)) == (0x085, 0x185, 0x205)
    assert cob_sdo(5) == (0x585, 0x605)
    assert cob_heartbeat(5) == 0x705
    node = RemoteNode(5, ObjectDictionary())  # type: ignore[no-untyped-call]
    assert (node.sdo.tx_cobid, node.sdo.rx_cobid) == cob_sdo(5)
