"""Modbus RTU, master's side: reading registers and turning them into numbers.

After “MODBUS over Serial Line, Specification and Implementation Guide V1.02” and “MODBUS
Application Protocol Specification V1.1b3”.
"""

from __future__ import annotations

import math
import struct
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from gaugebench.wire.checksum import MODBUS

MAX_REGISTERS = 125

EXCEPTIONS = {
    1: "bad function",
    2: "bad address",
    3: "bad value",
    4: "device failure",
    5: "working on it",
    6: "busy",
    8: "memory parity error",
    10: "gateway path unavailable",
    11: "gateway target does not answer",
}


class Table(StrEnum):
    """Which registers are read."""

    HOLDING = "holding"
    INPUT = "input"

    @property
    def function(self) -> int:
        """The function code."""
        return 3 if self is Table.HOLDING else 4


class Order(StrEnum):
    """In which order the bytes of a 32-bit value come, A the highest."""

    ABCD = "ABCD"
    CDAB = "CDAB"
    BADC = "BADC"
    DCBA = "DCBA"


class NumberType(StrEnum):
    """What a value is."""

    INT16 = "int16"
    UINT16 = "uint16"
    INT32 = "int32"
    UINT32 = "uint32"
    FLOAT32 = "float32"

    @property
    def registers(self) -> int:
        """How many registers it takes."""
        return 1 if self in {NumberType.INT16, NumberType.UINT16} else 2


_CODES = {
    NumberType.INT16: ">h",
    NumberType.UINT16: ">H",
    NumberType.INT32: ">i",
    NumberType.UINT32: ">I",
    NumberType.FLOAT32: ">f",
}
TINY = 1e-20
"""A float nearer to zero than this, and not zero, is a sign of a wrong word order."""


@dataclass(frozen=True, slots=True)
class Reply:
    """Registers that a device sent. stray: whether a stray 00 was skipped before its answer."""

    registers: tuple[int, ...]
    stray: bool = False


@dataclass(frozen=True, slots=True)
class Failure:
    """Why there are no registers; `from_device` where the device itself refused."""

    kind: str
    raw: bytes
    from_device: bool = False


def with_crc(body: bytes) -> bytes:
    """A whole frame."""
    return body + MODBUS.of(body).to_bytes(2, "little")


def is_whole(frame: bytes) -> bool:
    """Whether a frame's last two bytes are its CRC."""
    return len(frame) > 2 and with_crc(frame[:-2]) == frame


def read_request(address: int, table: Table, first: int, count: int) -> bytes:
    """The frame that asks for `count` registers (1 to 125) from `first` (0 to 65535) on."""
    if not 1 <= address <= 247 or not 1 <= count <= MAX_REGISTERS or not 0 <= first < 65536:
        raise ValueError(f"cannot ask device {address} for {count} registers from {first} on")
    return with_crc(struct.pack(">BBHH", address, table.function, first, count))


def parse_reply(request: bytes, data: bytes) -> Reply | Failure | None:
    """What the bytes that came after `request` mean; None while more must come.

    An exact echo of the request (an adapter that hears itself) is taken off, and one stray 00
    before the answer is skipped; nothing else is guessed.
    """
    address, function = request[0], request[1]
    count = int.from_bytes(request[4:6], "big")
    length = 5 + 2 * count
    rest = data.removeprefix(request)
    stray = rest[:1] == b"\x00" and (len(rest) < 2 or rest[1] == address)
    if stray:
        rest = rest[1:]
    if len(rest) < 5:
        return None
    if rest[0] == address and rest[1] == function | 0x80:
        if not is_whole(rest[:5]):
            return Failure("checksum", data)
        what = EXCEPTIONS.get(rest[2], f"error {rest[2]}")
        return Failure(f"device says: {what}", data, from_device=True)
    if rest[0] != address or rest[1] != function or rest[2] != 2 * count:
        # It may be the beginning of an echo; otherwise it is somebody else's talk.
        return None if request.startswith(data) else Failure("not an answer", data)
    if len(rest) < length:
        return None
    if not is_whole(rest[:length]):
        return Failure("checksum", data)
    return Reply(struct.unpack(f">{count}H", rest[3 : length - 2]), stray)


def number(registers: Sequence[int], kind: NumberType, order: Order = Order.ABCD) -> float:
    """The value that one or two registers hold; NaN for a float that is no number."""
    data = _ordered(struct.pack(f">{len(registers)}H", *registers), order)
    value = float(struct.unpack(_CODES[kind], data)[0])
    return value if math.isfinite(value) else math.nan


def is_suspicious(value: float) -> bool:
    """Whether a float is so tiny that its words must be in another order."""
    return 0 < abs(value) < TINY


def proposed_orders(
    readings: Sequence[Sequence[int]], low: float, high: float
) -> tuple[Order, ...]:
    """The word orders in which all of several float readings lie between `low` and `high`.

    A suggestion for the user to confirm. Needs at least two different readings, else none.
    """
    if len({tuple(r) for r in readings}) < 2:
        return ()

    def fits(order: Order) -> bool:
        values = [number(r, NumberType.FLOAT32, order) for r in readings]
        return all(low <= v <= high and not is_suspicious(v) for v in values)

    return tuple(order for order in Order if fits(order))


def silence_s(baud: int) -> float:
    """The pause between two frames: 3.5 characters of 11 bits; 1.75 ms above 19200 baud."""
    return 0.00175 if baud > 19200 else 3.5 * 11 / baud


def _ordered(data: bytes, order: Order) -> bytes:
    """The bytes with the highest first; a single register can only be swapped in itself."""
    if order in {Order.BADC, Order.DCBA}:
        data = b"".join(data[n : n + 2][::-1] for n in range(0, len(data), 2))
    if order in {Order.CDAB, Order.DCBA} and len(data) == 4:
        data = data[2:] + data[:2]
    return data
