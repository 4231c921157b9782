"""What is inside a journal's frames: blocks as plain arrays, everything else as JSON."""

from __future__ import annotations

import struct
from typing import Any

import numpy as np

from gaugebench.model.arrays import frozen
from gaugebench.model.block import Block
from gaugebench.model.event import (
    ClockFit,
    Event,
    GapSeen,
    MarkSet,
    Rejected,
    Setup,
    SourceSaid,
)
from gaugebench.store.frames import Kind
from gaugebench.store.jsonform import form

_BLOCK = struct.Struct("<HHIQ")
_EVENTS: dict[str, type[Any]] = {
    "rejected": Rejected,
    "gap": GapSeen,
    "said": SourceSaid,
    "clock": ClockFit,
    "mark": MarkSet,
}
_NAMES = {kind: name for name, kind in _EVENTS.items()}


class PayloadError(ValueError):
    """A whole frame holds something that this program does not understand."""


def encode(event: Event) -> tuple[Kind, bytes]:
    """The kind and payload of an event.

    A block: stream (u16), channels (u16), rows (u32), first row's number (u64), then times
    (f64, rows), raw (f64, rows x channels) and quality (u16, rows x channels), little-endian.
    """
    if isinstance(event, Block):
        rows, columns = event.raw.shape
        return Kind.BLOCK, b"".join(
            (
                _BLOCK.pack(event.stream, columns, rows, event.first),
                np.ascontiguousarray(event.times, "<f8").tobytes(),
                np.ascontiguousarray(event.raw, "<f8").tobytes(),
                np.ascontiguousarray(event.quality, "<u2").tobytes(),
            )
        )
    kind = type(event)
    return Kind.EVENT, _NAMES[kind].encode() + b" " + form(kind).dump(event)


def decode(kind: int, payload: bytes) -> Event:
    """The event in a payload. Raises `PayloadError`."""
    if kind == Kind.BLOCK:
        return _block(payload)
    if kind != Kind.EVENT:
        raise PayloadError(f"frames of kind {kind} are not known")
    name, _, text = payload.partition(b" ")
    known = _EVENTS.get(name.decode("utf-8", "replace"))
    if known is None:
        raise PayloadError(f"events called {name!r} are not known")
    try:
        event: Event = form(known).load(text)
    except ValueError as fault:
        raise PayloadError(str(fault)) from fault
    return event


def encode_setup(setup: Setup) -> bytes:
    """A setup as JSON."""
    return form(Setup).dump(setup)


def decode_setup(payload: bytes) -> Setup:
    """The setup in a payload. Raises `PayloadError`."""
    try:
        setup: Setup = form(Setup).load(payload)
    except ValueError as fault:
        raise PayloadError(str(fault)) from fault
    return setup


def _block(payload: bytes) -> Block:
    if len(payload) < _BLOCK.size:
        raise PayloadError("a block is shorter than its own header")
    stream, columns, rows, first = _BLOCK.unpack_from(payload)
    cells = rows * columns
    if len(payload) != _BLOCK.size + 8 * rows + 10 * cells:
        raise PayloadError("a block is not as long as it says")
    at = _BLOCK.size
    times = np.frombuffer(payload, "<f8", rows, at)
    raw = np.frombuffer(payload, "<f8", cells, at + 8 * rows).reshape(rows, columns)
    quality = np.frombuffer(payload, "<u2", cells, at + 8 * (rows + cells)).reshape(rows, columns)
    return Block(
        stream,
        first,
        frozen(times.astype(np.float64)),
        frozen(raw.astype(np.float64)),
        frozen(quality.astype(np.uint16)),
    )
