"""Check sums against published examples."""

from __future__ import annotations

import pytest

from gaugebench.wire.checksum import crc16, xor8


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
