"""Reading a dataset's chunks within bounds, whatever a file says of them.

The library unpacks a chunk to whatever size its bytes unpack to, through as many filters as the
file names: 100 kB can cost gigabytes (measured). Here the packed bytes are taken as they lie in
the file and unpacked to the chunk's own size and no further. It costs no time: the library's own
reading of the same chunks is slower (measured).
"""

from __future__ import annotations

import itertools
import math
import zlib
from collections.abc import Iterator
from typing import Any

import h5py
import numpy as np
from numpy.typing import NDArray

from gaugebench.errors import TraceError

SHUFFLE = h5py.h5z.FILTER_SHUFFLE
DEFLATE = h5py.h5z.FILTER_DEFLATE
FLETCHER = h5py.h5z.FILTER_FLETCHER32
LARGEST_CHUNK = 1 << 20
"""Bytes, unpacked, unless one element is larger; the library's own choice stays below."""
SMALLEST_CHUNK = 2048
"""Bytes, unpacked, unless the dataset is smaller: many tiny chunks cost time, not space."""
_DIGEST_BYTES = 4


class Chunked:
    """A dataset stored in chunks; `[rows]` reads those rows along its first axis.

    Raises `TraceError` where it is stored in another way than trace files are. Nothing is read
    before it is asked for. what: its name, for the sentence.
    """

    def __init__(self, found: h5py.Dataset, what: str, filters: frozenset[int]) -> None:
        """filters: those that may be applied, each once and packed last but for the checksum."""
        self.shape: tuple[int, ...] = found.shape
        self.dtype: np.dtype[Any] = found.dtype
        self._what = what
        self._id = found.id
        self._chunk: tuple[int, ...] = found.chunks or ()
        self._filters = _pipeline(found)
        self._chunk_bytes = math.prod(self._chunk) * self.dtype.itemsize
        # gzip may make a chunk that nothing packs a little longer.
        self._most_stored = self._chunk_bytes + self._chunk_bytes // 1000 + 64
        if math.prod(self.shape) == 0:
            return
        whole = math.prod(self.shape) * self.dtype.itemsize
        numbers = [number for number, _ in self._filters]
        if (
            not self._chunk
            or len(set(numbers)) < len(numbers)
            or not filters.issuperset(numbers)
            or any(n == SHUFFLE and size != self.dtype.itemsize for n, size in self._filters)
            or self._chunk_bytes > max(LARGEST_CHUNK, self.dtype.itemsize)
            or self._chunk_bytes < min(SMALLEST_CHUNK, whole)
        ):
            raise TraceError(f"“{what}” is not stored as the format says; the file is damaged.")

    def __len__(self) -> int:
        return self.shape[0]

    def __getitem__(self, rows: slice | int) -> NDArray[Any]:
        """Rows by a slice of step 1, or one row by its number from 0."""
        if not isinstance(rows, slice):
            return self[rows : rows + 1][0]  # type: ignore[no-any-return]
        low, high, _ = rows.indices(len(self))
        out = np.empty((max(0, high - low), *self.shape[1:]), self.dtype)
        if out.size:
            for corner in self._corners(low, high):
                self._place(corner, low, high, out)
        return out

    def _corners(self, low: int, high: int) -> Iterator[tuple[int, ...]]:
        first = low - low % self._chunk[0]
        axes = [range(first, high, self._chunk[0])]
        axes += [
            range(0, size, step) for size, step in zip(self.shape[1:], self._chunk[1:], strict=True)
        ]
        return itertools.product(*axes)

    def _place(self, corner: tuple[int, ...], low: int, high: int, out: NDArray[Any]) -> None:
        """Unpack the chunk at a corner and copy what belongs to rows [low, high)."""
        chunk = self._unpacked(*self._stored(corner))
        start, stop = max(low, corner[0]), min(high, corner[0] + self._chunk[0])
        others = tuple(slice(at, at + step) for at, step in zip(corner, self._chunk, strict=True))
        target = out[(slice(start - low, stop - low), *others[1:])]
        source = chunk[start - corner[0] : stop - corner[0]]
        target[...] = source[tuple(slice(0, size) for size in target.shape)]

    def _stored(self, corner: tuple[int, ...]) -> tuple[memoryview, int]:
        room = bytearray(self._most_stored)
        try:
            skipped, data = self._id.read_direct_chunk(corner, out=room)
        except (RuntimeError, ValueError, OSError) as fault:
            if isinstance(fault, OSError) and fault.errno is not None:
                raise  # the disk's own word; some builds of the library say OSError of damage too
            raise TraceError(
                f"“{self._what}” declares more than the file holds; the file is damaged."
            ) from fault
        return data, skipped

    def _unpacked(self, data: memoryview, skipped: int) -> NDArray[Any]:
        """A chunk of stored bytes as an array. skipped: a bit for each filter not applied."""
        for index in reversed(range(len(self._filters))):
            number, _ = self._filters[index]
            if skipped >> index & 1:
                if number != DEFLATE:  # left out where it would not make a chunk smaller
                    raise self._damaged()
            elif number == FLETCHER:
                data = self._checked(data)
            elif number == DEFLATE:
                data = self._inflated(data)
            else:
                data = self._unshuffled(data)
        if len(data) != self._chunk_bytes:
            raise self._damaged()
        return np.frombuffer(data, self.dtype).reshape(self._chunk)

    def _checked(self, data: memoryview) -> memoryview:
        body, told = data[:-_DIGEST_BYTES], data[-_DIGEST_BYTES:]
        if len(told) < _DIGEST_BYTES or fletcher32(body) != int.from_bytes(told, "little"):
            raise self._damaged()
        return body

    def _inflated(self, data: memoryview) -> memoryview:
        unpacking = zlib.decompressobj()
        try:
            out = unpacking.decompress(data, self._chunk_bytes + 1)
        except zlib.error as fault:
            raise self._damaged() from fault
        if not unpacking.eof:
            raise self._damaged()
        return memoryview(out)

    def _unshuffled(self, data: memoryview) -> memoryview:
        size = self.dtype.itemsize
        if len(data) != self._chunk_bytes:
            raise self._damaged()
        planes = np.frombuffer(data, np.uint8).reshape(size, -1)
        return memoryview(np.ascontiguousarray(planes.T).data).cast("B")

    def _damaged(self) -> TraceError:
        return TraceError(f"Samples or rows of “{self._what}” are damaged in the file.")


def fletcher32(data: memoryview | bytes) -> int:
    """The Fletcher-32 checksum as HDF5 has it: of big-endian 16-bit words, sums modulo 65535.

    An odd last byte is the upper half of a word. A sum that is a multiple of 65535 and not 0 is
    kept as 65535. Source: the HDF5 library's description of its filter, from memory; held against
    the checksums that the library itself writes.
    """
    words = np.frombuffer(data, ">u2", len(data) // 2).astype(np.int64)
    if len(data) % 2:
        words = np.append(words, data[-1] << 8)
    weights = np.arange(len(words), 0, -1)
    # Up to 2^20 words of 16 bits: the weighted sum stays below 2^56.
    return _folded(int(words @ weights)) << 16 | _folded(int(words.sum()))


def _folded(total: int) -> int:
    return (total - 1) % 65535 + 1 if total else 0


def _pipeline(found: h5py.Dataset) -> list[tuple[int, int]]:
    """The filters in the order they were applied, each with its first parameter (or 0)."""
    created = found.id.get_create_plist()
    filters = []
    for index in range(created.get_nfilters()):
        number, _, values, _ = created.get_filter(index)
        filters.append((number, values[0] if values else 0))
    return filters
