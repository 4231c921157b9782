"""Our open frame for boards that sample fast.

A frame is COBS-encoded (Cheshire and Baker 1997) and ends in a zero byte, so that a receiver
finds the next one after any damage. Before encoding, all little-endian:

    byte 0      kind: 1 samples, 2 hello
    samples:
    byte 1      type of the values: 1 int16, 2 int24, 3 float32
    bytes 2-5   number of the frame's first row, counted from 0 at start-up, rolls over at 2^32
    bytes 6-9   the board's time at the first row, µs, rolls over at 2^32
    bytes 10-13 time from one row to the next, ns
    byte 14     rows, 1 to 255
    byte 15     values a row, 1 to 64
    then        the values, row after row
    hello (sent once at start-up):
    byte 1      0
    then        up to 64 bytes of text, UTF-8: what the board calls itself
    last two    CRC-16/IBM-3740 of all bytes before

An encoder in C for boards is in drivers/firmware.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from cobs import cobs

from gaugebench.model.arrays import F64
from gaugebench.wire.checksum import crc16

MAX_FRAME = 4096
"""The longest frame, still encoded, without its end."""
MAX_VALUES = 64
COUNTER = 2**32
TIME_WRAP_S = 2.0**32 * 1e-6

SAMPLES = 1
HELLO = 2
_HEAD = struct.Struct("<BBIIIBB")
_END = b"\x00"

FIRST_FRAME = "first frame"
BAD_CODE = "byte stuffing"
CHECKSUM = "checksum"
UNKNOWN = "unknown frame"
LENGTH = "length"
TOO_LONG = "too long"
CUT_OFF = "cut off"


class ValueType(IntEnum):
    """How a value is sent."""

    INT16 = 1
    INT24 = 2
    FLOAT32 = 3

    @property
    def size(self) -> int:
        """Bytes a value."""
        return {1: 2, 2: 3, 3: 4}[self.value]


@dataclass(frozen=True, slots=True, eq=False)
class Samples:
    """A frame of rows. values: shape (rows, values a row); time_s and step_s by the board."""

    first_row: int
    time_s: float
    step_s: float
    values: F64


@dataclass(frozen=True, slots=True)
class Hello:
    """The board started."""

    text: str


@dataclass(frozen=True, slots=True)
class BadFrame:
    """Bytes that were no good frame."""

    kind: str
    raw: bytes


class FrameDecoder:
    """Incremental decoder: feed it bytes as they come, cut anywhere. Memory is bounded."""

    def __init__(self) -> None:
        self._held = b""
        self._started = False
        self._skipping = False

    def feed(self, data: bytes) -> list[Samples | Hello | BadFrame]:
        """The frames that these bytes complete, in their order."""
        pieces = (self._held + data).split(_END)
        self._held = pieces.pop()
        found: list[Samples | Hello | BadFrame] = []
        for piece in pieces:
            if self._skipping or not piece:
                self._skipping = False
            else:
                frame = decode_frame(piece) if len(piece) <= MAX_FRAME else _too_long(piece)
                if isinstance(frame, BadFrame) and not self._started:
                    frame = BadFrame(FIRST_FRAME, frame.raw)  # the sender was joined midway
                found.append(frame)
            self._started = True
        if len(self._held) > MAX_FRAME:
            if not self._skipping:
                found.append(_too_long(self._held))
            self._held, self._skipping = b"", True
        return found

    def finish(self) -> list[BadFrame]:
        """What was held when the line went silent for good."""
        held, self._held = self._held, b""
        skipped, self._skipping, self._started = self._skipping, False, False
        return [BadFrame(CUT_OFF, held)] if held and not skipped else []


def decode_frame(encoded: bytes) -> Samples | Hello | BadFrame:
    """One frame without its end."""
    try:
        body = cobs.decode(encoded)
    except cobs.DecodeError:
        return BadFrame(BAD_CODE, encoded)
    if len(body) < 4 or crc16(body[:-2]) != int.from_bytes(body[-2:], "little"):
        return BadFrame(CHECKSUM, encoded)
    body = body[:-2]
    if body[0] == HELLO and body[1] == 0:
        return Hello(body[2:66].decode("utf-8", "replace"))
    if body[0] != SAMPLES or body[1] not in (1, 2, 3):
        return BadFrame(UNKNOWN, encoded)
    if len(body) < _HEAD.size:
        return BadFrame(LENGTH, encoded)
    _, kind, first_row, time_us, step_ns, rows, columns = _HEAD.unpack_from(body)
    sent = ValueType(kind)
    if not rows or not 0 < columns <= MAX_VALUES:
        return BadFrame(LENGTH, encoded)
    if len(body) != _HEAD.size + rows * columns * sent.size:
        return BadFrame(LENGTH, encoded)
    values = _values(body[_HEAD.size :], sent).reshape(rows, columns)
    return Samples(first_row, time_us * 1e-6, step_ns * 1e-9, values)


def encode_samples(
    values: F64, first_row: int, time_s: float, step_s: float, sent: ValueType
) -> bytes:
    """The frame for `values`, shape (rows 1 to 255, columns 1 to 64), with its end.

    Integers are rounded; a NaN can be sent as float32 only. Raises `ValueError` where something
    does not fit.
    """
    rows, columns = values.shape
    if not 0 < rows <= 255 or not 0 < columns <= MAX_VALUES:
        raise ValueError(f"a frame holds 1 to 255 rows of 1 to {MAX_VALUES} values")
    if sent is ValueType.FLOAT32:
        data = values.astype("<f4").tobytes()
    else:
        limit = 2 ** (8 * sent.size - 1)
        whole = np.rint(values)
        if not np.all((whole >= -limit) & (whole < limit)):
            raise ValueError(f"a value does not fit in {8 * sent.size} bits")
        wide = np.ascontiguousarray(whole.astype("<i4")).view(np.uint8).reshape(-1, 4)
        data = wide[:, : sent.size].tobytes()
    time_us = round(time_s * 1e6) % COUNTER
    head = _HEAD.pack(
        SAMPLES, sent, first_row % COUNTER, time_us, round(step_s * 1e9), rows, columns
    )
    return _framed(head + data)


def encode_hello(text: str) -> bytes:
    """The frame that a board sends when it starts, with its end."""
    return _framed(bytes([HELLO, 0]) + text.encode()[:64])


def _values(data: bytes, sent: ValueType) -> F64:
    if sent is ValueType.INT24:
        # Put each value into the upper three bytes of four and shift down: this keeps its sign.
        wide = np.zeros((len(data) // 3, 4), dtype=np.uint8)
        wide[:, 1:] = np.frombuffer(data, np.uint8).reshape(-1, 3)
        return (wide.view("<i4").ravel() >> 8).astype(np.float64)
    values = np.frombuffer(data, "<i2" if sent is ValueType.INT16 else "<f4").astype(np.float64)
    values[~np.isfinite(values)] = np.nan
    return values


def _framed(body: bytes) -> bytes:
    encoded: bytes = cobs.encode(body + crc16(body).to_bytes(2, "little"))
    if len(encoded) > MAX_FRAME:
        raise ValueError(f"a frame of {len(encoded)} bytes is longer than {MAX_FRAME}")
    return encoded + _END


def _too_long(piece: bytes) -> BadFrame:
    return BadFrame(TOO_LONG, piece[:MAX_FRAME])
