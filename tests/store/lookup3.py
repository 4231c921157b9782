"""The checksum of HDF5's own structures, so that a test can change them and make it valid again.

Bob Jenkins' public-domain hash `lookup3` (`hashlittle`, initial value 0), as the HDF5 File Format
Specification names it; written here from memory and held against blocks that the library wrote.
"""

from __future__ import annotations

_MASK = 0xFFFFFFFF


def _rotated(value: int, by: int) -> int:
    return ((value << by) | (value >> (32 - by))) & _MASK


def lookup3(data: bytes) -> int:
    """The hash of `data`, 32 bits."""
    a = b = c = (0xDEADBEEF + len(data)) & _MASK
    if not data:
        return c
    at = 0
    while len(data) - at > 12:
        a, b, c = _added(a, b, c, data[at : at + 12])
        for by_a, by_b, by_c in ((4, 6, 8), (16, 19, 4)):
            a = ((a - c) & _MASK) ^ _rotated(c, by_a)
            c = (c + b) & _MASK
            b = ((b - a) & _MASK) ^ _rotated(a, by_b)
            a = (a + c) & _MASK
            c = ((c - b) & _MASK) ^ _rotated(b, by_c)
            b = (b + a) & _MASK
        at += 12
    a, b, c = _added(a, b, c, data[at:].ljust(12, b"\0"))
    for by_c, by_a, by_b in ((14, 11, 25), (16, 4, 14)):
        c = ((c ^ b) - _rotated(b, by_c)) & _MASK
        a = ((a ^ c) - _rotated(c, by_a)) & _MASK
        b = ((b ^ a) - _rotated(a, by_b)) & _MASK
    return ((c ^ b) - _rotated(b, 24)) & _MASK


def _added(a: int, b: int, c: int, piece: bytes) -> tuple[int, int, int]:
    words = (int.from_bytes(piece[n : n + 4], "little") for n in (0, 4, 8))
    x, y, z = words
    return (a + x) & _MASK, (b + y) & _MASK, (c + z) & _MASK
