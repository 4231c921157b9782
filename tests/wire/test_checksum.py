"""Check sums against published examples."""

from __future__ import annotations

import binascii

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.wire.checksum import LowBitFirst, crc16, xor8


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        # Sentences with their check sums as printed in public NMEA 0183 examples.
        (b"PSRF103,00,01,00,01", 0x25),
        (b"GPGGA,015808.00,2726.53758,S,15126.05255,E,1,08,1.0,365.1,M,39.5,M,,", 0x79),
        (b"GNGLL,2239.37849,N,11400.75600,E,123254.00,A,A", 0x7F),
        (b"", 0),
    ],
)
def test_xor(text: bytes, expected: int) -> None:
    assert xor8(text) == expected


def test_crc16() -> None:
    # Check value of CRC-16/IBM-3740 in the public catalogue of parametrised CRC algorithms.
    assert crc16(b"123456789") == 0x29B1


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        # Check values of the public catalogue of parametrised CRC algorithms: XMODEM, KERMIT, ARC
        # and ISO-HDLC (CRC-32). No device of ours needs these four; they hold the table that
        # Modbus shares, and the start value of the frame's CRC, to more than one published value.
        (crc16(b"123456789", 0), 0x31C3),
        (LowBitFirst(0x8408).of(b"123456789"), 0x2189),
        (LowBitFirst(0xA001).of(b"123456789"), 0xBB3D),
        (LowBitFirst(0xEDB88320, 0xFFFFFFFF, 0xFFFFFFFF).of(b"123456789"), 0xCBF43926),
    ],
)
def test_other_kinds_from_the_same_code(found: int, expected: int) -> None:
    assert found == expected


@given(st.binary(max_size=200))
def test_the_table_gives_what_the_standard_library_gives(data: bytes) -> None:
    assert LowBitFirst(0xEDB88320, 0xFFFFFFFF, 0xFFFFFFFF).of(data) == binascii.crc32(data)
