"""Numbers in the bytes of a CAN frame, and the identifiers of J1939 and CANopen.

J1939: SAE J1939-21 and -71; CANopen: CiA 301. Bit and byte order are little-endian in both.
"""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass

_KNOWN = (
    # SPN, PGN, first byte from 1, bits, step, offset, unit. 190 and 110: public J1939 decoders
    # (voltage-j1939, canparse); 175 and 1638: from memory.
    (190, 61444, 4, 16, 0.125, 0.0, "rpm"),
    (110, 65262, 1, 8, 1.0, -40.0, "°C"),
    (175, 65262, 3, 16, 0.03125, -273.0, "°C"),
    (1638, 65128, 1, 8, 1.0, -40.0, "°C"),
)

COB_NMT = 0x000
COB_SYNC = 0x080
COB_TIME = 0x100


@dataclass(frozen=True, slots=True)
class Spn:
    """A J1939 parameter: value = raw * step + offset, in `unit`.

    first_byte, first_bit: from 1, as the standard counts. bits: 1 to 32.
    """

    pgn: int
    first_byte: int
    bits: int
    step: float
    offset: float
    unit: str
    first_bit: int = 1

    def value(self, data: bytes) -> float:
        """The value in a frame's data; NaN where the sender has none or reports a fault.

        Raises `ValueError` where the data are too short.
        """
        raw = unsigned(data, 8 * (self.first_byte - 1) + self.first_bit - 1, self.bits)
        return math.nan if raw > _highest_valid(self.bits) else raw * self.step + self.offset


KNOWN_SPNS = {row[0]: Spn(*row[1:]) for row in _KNOWN}
"""The parameters that a hydraulics technician asks for, by their number."""


def unsigned(data: bytes, first_bit: int, bits: int) -> int:
    """The whole number in `bits` bits from `first_bit` (from 0) on. Raises `ValueError`."""
    if first_bit + bits > 8 * len(data):
        raise ValueError(f"{len(data)} bytes do not reach to bit {first_bit + bits}")
    return (int.from_bytes(data, "little") >> first_bit) & ((1 << bits) - 1)


def _highest_valid(bits: int) -> int:
    """Above this a raw value is a fault or “not available” (J1939-71): FAh in the top byte."""
    if bits >= 8 and bits % 8 == 0:
        return (0xFA << (bits - 8)) | ((1 << (bits - 8)) - 1)
    return {1: 1, 2: 1}.get(bits, (1 << bits) - 2)


@dataclass(frozen=True, slots=True)
class J1939Id:
    """The parts of a 29-bit identifier. destination: None for a broadcast group."""

    priority: int
    pgn: int
    source: int
    destination: int | None


def j1939_id(identifier: int) -> J1939Id:
    """The parts of a 29-bit identifier (0 to 0x1FFFFFFF)."""
    group = (identifier >> 8) & 0x3FFFF
    is_addressed = (group >> 8) & 0xFF < 240
    return J1939Id(
        priority=(identifier >> 26) & 7,
        pgn=group & 0x3FF00 if is_addressed else group,
        source=identifier & 0xFF,
        destination=group & 0xFF if is_addressed else None,
    )


def cob_emergency(node: int) -> int:
    """The identifier of a node's emergency message; node 1 to 127, as below."""
    return 0x080 + node


def cob_tpdo(node: int, number: int) -> int:
    """The default identifier of a node's TPDO 1 to 4."""
    return 0x080 + 0x100 * number + node


def cob_rpdo(node: int, number: int) -> int:
    """The default identifier of a node's RPDO 1 to 4."""
    return 0x100 + 0x100 * number + node


def cob_sdo(node: int) -> tuple[int, int]:
    """The identifiers of a node's SDO server: what it sends, what it receives."""
    return 0x580 + node, 0x600 + node


def cob_heartbeat(node: int) -> int:
    """The identifier of a node's heartbeat and boot-up message."""
    return 0x700 + node


_CODES = {
    "int8": "<b",
    "uint8": "<B",
    "int16": "<h",
    "uint16": "<H",
    "int32": "<i",
    "uint32": "<I",
    "float32": "<f",
}


def typed_value(data: bytes, first_byte: int, kind: str) -> float:
    """The number of `kind` (int8 to uint32, float32) from byte `first_byte` (from 0) on.

    NaN for a float that is no number. Raises `ValueError` where the data are too short.
    """
    code = struct.Struct(_CODES[kind])
    if first_byte + code.size > len(data):
        raise ValueError(f"{len(data)} bytes do not hold {kind} at byte {first_byte}")
    value = float(code.unpack_from(data, first_byte)[0])
    return value if math.isfinite(value) else math.nan
