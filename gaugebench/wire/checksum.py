"""Check sums of the open protocols."""

from __future__ import annotations

import binascii
from functools import reduce
from operator import xor


def xor8(data: bytes) -> int:
    """All bytes XORed together, 0 to 255: the check of `$…*hh` lines."""
    return reduce(xor, data, 0)


def crc16(data: bytes) -> int:
    """CRC-16 with polynomial 0x1021 and start 0xFFFF (IBM-3740, also called CCITT-FALSE)."""
    return binascii.crc_hqx(data, 0xFFFF)
