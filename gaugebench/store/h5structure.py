"""Whether an HDF5 object's own description is one that the library survives.

HDF5 trusts what its checksums pass. In 3000 files whose structure was changed and given valid
checksums again, one in 70 ended the program or held it for ever, all but one through the header of
a B-tree that says how large its nodes and records are. Here an object's header is read from the
file before the library sees it, and what hangs on it is held against the only values that the
library itself writes.

Layout by the HDF5 File Format Specification, version 3.0, sections III.A.2 (B-trees, version 2),
III.G (fractal heap) and IV.A (object headers): from memory, held against files that the library
wrote.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType

from gaugebench.errors import TraceError

_NOWHERE = (1 << 64) - 1
_LINK_INFO, _LAYOUT, _CONTINUED, _ATTRIBUTE_INFO = 0x02, 0x08, 0x10, 0x15
_MOST_BLOCKS = 1024
"""Of one object's header."""
_LONGEST_BLOCK = 16 << 20
_DEEPEST_TREE = 6
_TREE = struct.Struct("<4sBBIHHBBQHQ")
_RECORD_BYTES = {5: 11, 8: 17, 1: 24, 3: 16}
"""By the kind of tree: links by name, attributes by name, and two of large objects in a heap."""
_HEAP = struct.Struct("<4sBHHBIQQ")
_HEAP_TABLE = struct.Struct("<HQQHHQH")
_HEAP_TABLE_AT = 110
_HEAP_BYTES = _HEAP_TABLE_AT + _HEAP_TABLE.size


class Structure:
    """A file's structure, read beside the library. Use as a context manager.

    root: the address of the root group's header, known once it was entered.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._sound: set[int] = set()
        self.root = 0

    def __enter__(self) -> Structure:
        """Raises `OSError`; `TraceError` where the file does not begin as trace files do."""
        self._file = self._path.open("rb", buffering=0)
        try:
            begin = self._at(8, 40)
            if begin[1:3] != b"\x08\x08" or any(begin[4:12]):
                raise self._damaged()  # the width of addresses, and where they count from
        except TraceError:
            self._file.close()
            raise
        self.root = int.from_bytes(begin[28:36], "little")
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self._file.close()

    def check(self, address: int) -> None:
        """Raise `TraceError` where the object with its header there is not one of ours."""
        if address in self._sound:
            return
        for kind, body in self._messages(address):
            if kind in {_LINK_INFO, _ATTRIBUTE_INFO}:
                self._check_storage(kind, body)
            elif kind == _LAYOUT and body[:2] == b"\x04\x02":
                self._check_chunks(body)
        self._sound.add(address)

    def _messages(self, address: int) -> Iterator[tuple[int, bytes]]:
        """The kind and content of every message in an object's header."""
        begin = self._at(address, 48)
        if begin[:5] != b"OHDR\x02":
            raise self._damaged()
        flags = begin[5]
        at = 6 + (16 if flags & 0x20 else 0) + (4 if flags & 0x10 else 0)
        width = 1 << (flags & 3)
        size = int.from_bytes(begin[at : at + width], "little")
        waiting = [(address + at + width, size)]
        head = 6 if flags & 0x04 else 4
        for count, (start, length) in enumerate(waiting):
            if count > _MOST_BLOCKS or length > _LONGEST_BLOCK:
                raise self._damaged()
            block, at = self._at(start, length), 0
            while at + head <= len(block):
                kind = block[at]
                end = at + head + int.from_bytes(block[at + 1 : at + 3], "little")
                body = block[at + head : end]
                if kind == _CONTINUED:
                    begins, long = struct.unpack("<QQ", body[:16].ljust(16, b"\0"))
                    # A signature stands before its messages and a checksum behind them.
                    waiting.append((begins + 4, max(0, long - 8)))
                yield kind, body
                at = end

    def _check_storage(self, kind: int, body: bytes) -> None:
        """Of links or attributes that did not fit the header: a heap, and a tree over it."""
        at = 2
        if body[1] & 1:
            at += 8 if kind == _LINK_INFO else 2
        addresses = struct.unpack("<QQ", body[at : at + 16].ljust(16, b"\0"))
        if body[1] & 2 or len(body) < at + 16:
            raise self._damaged()  # kept in the order of making, which no trace has
        heap, tree = addresses
        if heap != _NOWHERE:
            self._check_heap(heap)
        if tree != _NOWHERE:
            self._check_tree(tree, {5} if kind == _LINK_INFO else {8})

    def _check_tree(self, address: int, kinds: set[int]) -> None:
        found = _TREE.unpack(self._at(address, _TREE.size))
        signature, version, kind, node, record, depth, split, merge, _, first, _ = found
        fits = (
            (signature, version, node, split, merge) == (b"BTHD", 0, 512, 100, 40)
            and kind in kinds
            and record == _RECORD_BYTES[kind]
            and depth <= _DEEPEST_TREE
            and first <= (node - 10) // record
        )
        if not fits:
            raise self._damaged()

    def _check_heap(self, address: int) -> None:
        data = self._at(address, _HEAP_BYTES)
        signature, version, id_bytes, filters, flags, _, _, large = _HEAP.unpack_from(data)
        width, start, most, bits, rows, _, _ = _HEAP_TABLE.unpack_from(data, _HEAP_TABLE_AT)
        fits = (
            (signature, version, filters, width, most, rows) == (b"FRHP", 0, 0, 4, 65536, 1)
            and (id_bytes, start, bits) in {(7, 512, 32), (8, 1024, 40)}
            and flags & ~3 == 0
        )
        if not fits:
            raise self._damaged()
        if large != _NOWHERE:
            self._check_tree(large, {1, 3})

    def _check_chunks(self, body: bytes) -> None:
        """Of a dataset in chunks: their index must not be a B-tree."""
        axes, width = body[3], body[4]
        at = 5 + axes * width
        if width > 8 or len(body) <= at or body[at] not in {1, 2, 3, 4}:
            raise self._damaged()

    def _at(self, address: int, length: int) -> bytes:
        try:
            self._file.seek(address)
            data = self._file.read(length)
        except (OverflowError, ValueError, OSError) as fault:
            raise self._damaged() from fault
        if data is None or len(data) < length:
            raise self._damaged()
        return data

    def _damaged(self) -> TraceError:
        return TraceError(f"{self._path} is not built as a trace file is; it is damaged.")
