"""Frames: the pieces a journal is made of, each able to prove that it is whole.

A frame, all numbers little-endian:

    offset  bytes  what
         0      4  magic, `GBF1`
         4      8  the journal's id, random, the same in all frames of a journal
        12      8  sequence number, from 0, one more with every frame of the journal
        20      2  kind, see `Kind`
        22      2  0, kept free
        24      4  length of the payload, n
        28      4  CRC-32 of the 28 bytes before it
        32      n  payload
      32+n      8  BLAKE2b (8 bytes) of the 32 + n bytes before it

The CRC keeps a damaged length from leading the reader astray; the digest, 64 bits wide, keeps
damaged samples from passing for good. After damage the reader looks for the next magic.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum
from hashlib import blake2b

MAGIC = b"GBF1"
_HEAD = struct.Struct("<4s8sQHHI")
_CRC = struct.Struct("<I")
HEAD_BYTES = _HEAD.size + _CRC.size
DIGEST_BYTES = 8
ID_BYTES = 8
LARGEST_PAYLOAD = 1 << 26
"""64 MiB; a longer length is taken for damage."""


class Kind(IntEnum):
    """What a frame's payload is."""

    SETUP = 1
    BLOCK = 2
    EVENT = 3
    END = 4


@dataclass(frozen=True, slots=True)
class Frame:
    """A whole frame. offset: where in its segment it begins, in bytes."""

    journal: bytes
    sequence: int
    kind: int
    payload: bytes
    offset: int = 0


def pack(journal: bytes, sequence: int, kind: int, payload: bytes) -> bytes:
    """The bytes of a frame. Raises `ValueError` where the payload is too long."""
    if len(payload) > LARGEST_PAYLOAD:
        raise ValueError(f"a payload of {len(payload)} bytes is longer than a frame may hold")
    head = _HEAD.pack(MAGIC, journal, sequence, kind, 0, len(payload))
    body = head + _CRC.pack(zlib.crc32(head)) + payload
    return body + blake2b(body, digest_size=DIGEST_BYTES).digest()


def scan(data: bytes) -> Iterator[Frame]:
    """Every whole frame in `data`, in the order they lie there; damage is stepped over."""
    view = memoryview(data)
    at = data.find(MAGIC)
    while at >= 0:
        frame = _frame_at(data, view, at)
        if frame is None:
            at = data.find(MAGIC, at + 1)
            continue
        yield frame
        after = at + HEAD_BYTES + len(frame.payload) + DIGEST_BYTES
        at = after if data.startswith(MAGIC, after) else data.find(MAGIC, after)


def _frame_at(data: bytes, view: memoryview, at: int) -> Frame | None:
    payload_at = at + HEAD_BYTES
    if payload_at > len(data):
        return None
    (crc,) = _CRC.unpack_from(data, at + _HEAD.size)
    if zlib.crc32(view[at : at + _HEAD.size]) != crc:
        return None
    _, journal, sequence, kind, _, length = _HEAD.unpack_from(data, at)
    digest_at = payload_at + length
    if length > LARGEST_PAYLOAD or digest_at + DIGEST_BYTES > len(data):
        return None
    expected = blake2b(view[at:digest_at], digest_size=DIGEST_BYTES).digest()
    if view[digest_at : digest_at + DIGEST_BYTES] != expected:
        return None
    return Frame(journal, sequence, kind, bytes(view[payload_at:digest_at]), at)
