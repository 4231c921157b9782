"""Check sums of the open protocols."""

from __future__ import annotations

import binascii
from dataclasses import dataclass, field
from functools import reduce
from operator import xor


def xor8(data: bytes) -> int:
    """All bytes XORed together, 0 to 255: the check of `$…*hh` lines."""
    return reduce(xor, data, 0)


def crc16(data: bytes, start: int = 0xFFFF) -> int:
    """CRC-16 with polynomial 0x1021, by default from 0xFFFF (IBM-3740, also CCITT-FALSE)."""
    return binascii.crc_hqx(data, start)


def _table(polynomial: int) -> tuple[int, ...]:
    found = []
    for byte in range(256):
        crc = byte
        for _ in range(8):
            crc = (crc >> 1) ^ polynomial if crc & 1 else crc >> 1
        found.append(crc)
    return tuple(found)


@dataclass(frozen=True, slots=True)
class LowBitFirst:
    """A CRC whose bits go lowest first, of any width. Example: `LowBitFirst(0xA001, 0xFFFF)`.

    polynomial: with its bits reversed. start: what the register holds before the first byte. final:
    XORed into it after the last.
    """

    polynomial: int
    start: int = 0
    final: int = 0
    _rows: tuple[int, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Work out the table once."""
        object.__setattr__(self, "_rows", _table(self.polynomial))

    def of(self, data: bytes) -> int:
        """The CRC of all bytes."""
        crc, rows = self.start, self._rows
        for byte in data:
            crc = (crc >> 8) ^ rows[(crc ^ byte) & 0xFF]
        return crc ^ self.final


MODBUS = LowBitFirst(0xA001, 0xFFFF)
"""CRC-16/MODBUS; on the wire its low byte goes first."""
