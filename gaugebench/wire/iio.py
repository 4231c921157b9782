"""The Linux kernel's Industrial I/O buffers: how a scan is laid out and what its values mean.

After the kernel's Documentation/ABI/testing/sysfs-bus-iio and Documentation/driver-api/iio.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaugebench.model.arrays import F64

_TYPE = re.compile(
    r"(?P<end>le|be):(?P<sign>[su])(?P<bits>\d+)/(?P<room>8|16|32|64)>>(?P<shift>\d+)"
)

# What the kernel's processed value (raw + offset) * scale is in, by kind of channel, and what
# it takes to be in the unit named.
KINDS = {
    "voltage": ("V", 1e-3),
    "current": ("mA", 1.0),
    "temp": ("°C", 1e-3),
    "pressure": ("kPa", 1.0),
}


@dataclass(frozen=True, slots=True)
class Element:
    """One element of a scan: a channel's place and form, from its `_type` and `_index` files."""

    name: str
    index: int
    bits: int
    room: int
    shift: int
    is_signed: bool
    is_big: bool

    @property
    def code(self) -> str:
        """How numpy reads its room."""
        return f"{'>' if self.is_big else '<'}u{self.room // 8}"


def element(name: str, index: int, written: str) -> Element:
    """The element described as for example `le:s12/16>>4`. Raises `ValueError`."""
    match = _TYPE.fullmatch(written.strip())
    if match is None:
        raise ValueError(f"“{written.strip()}” is not the form of a scan element")
    bits, room, shift = (int(match[part]) for part in ("bits", "room", "shift"))
    if not 0 < bits <= room - shift:
        raise ValueError(f"{bits} bits shifted by {shift} do not fit into {room}")
    return Element(name, index, bits, room, shift, match["sign"] == "s", match["end"] == "be")


class ScanLayout:
    """How the elements that are switched on lie in a scan: by index, each at its own alignment."""

    def __init__(self, elements: Sequence[Element]) -> None:
        self.elements = tuple(sorted(elements, key=lambda e: e.index))
        offsets, at = [], 0
        for item in self.elements:
            size = item.room // 8
            at = -(-at // size) * size
            offsets.append(at)
            at += size
        widest = max((e.room // 8 for e in self.elements), default=1)
        self.size = -(-at // widest) * widest
        self._dtype = np.dtype(
            {
                "names": [e.name for e in self.elements],
                "formats": [e.code for e in self.elements],
                "offsets": offsets,
                "itemsize": self.size,
            }
        )

    def decode(self, data: bytes) -> dict[str, F64]:
        """Raw values of every element, each of shape (scans,); data: whole scans."""
        scans = np.frombuffer(data, self._dtype)
        return {e.name: _raw(scans[e.name], e) for e in self.elements}

    def narrowed(self, data: bytes, to: ScanLayout) -> bytes:
        """Whole scans of this layout with the elements of `to` alone, as the kernel hands out."""
        scans = np.frombuffer(data, self._dtype)
        made = np.zeros(len(scans), to._dtype)
        for item in to.elements:
            made[item.name] = scans[item.name]
        return made.tobytes()


def _raw(words: np.ndarray[tuple[int, ...], np.dtype[np.generic]], item: Element) -> F64:
    values = words.astype(np.uint64) >> np.uint64(item.shift)
    unused = np.uint64(64 - item.bits)
    if item.is_signed:  # moved up to the top bit and back down, which carries the sign along
        return ((values << unused).astype(np.int64) >> unused.astype(np.int64)).astype(np.float64)
    return ((values << unused) >> unused).astype(np.float64)
