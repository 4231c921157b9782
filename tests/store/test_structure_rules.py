"""Every rule for a file's structure, one at a time: what the library writes passes, nothing else.

Held against files that the HDF5 library itself makes; the offsets of fields are those of the HDF5
File Format Specification, version 3.0, sections III.A.2, III.G and IV.A (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import h5py
import numpy as np
import pytest

from gaugebench.errors import TraceError
from gaugebench.store import layout
from gaugebench.store.h5structure import Structure

Make = Callable[[h5py.File], None]


def _made(path: Path, make: Make) -> list[int]:
    """Addresses of the root's header and of those of the objects just below it."""
    with h5py.File(path, "w", libver=layout.LIBRARY_RANGE) as file:
        make(file)
    with h5py.File(path) as file:
        links = (root := file["/"]).id.links
        return [0, *(int(links.get_info(name.encode()).u) for name in root)]


def _checked(path: Path, addresses: list[int]) -> None:
    with Structure(path) as structure:
        structure.check(structure.root)
        for address in addresses[1:]:
            structure.check(address)


def _crowded(file: h5py.File) -> None:
    """Links and attributes in heaps with trees over them, one attribute large."""
    for number in range(40):
        file.create_group(f"{'long name ' * 20}{number}")
        file.attrs[f"a{number}"] = number
    file.attrs["large"] = np.zeros(20_000)


@pytest.fixture(scope="module")
def crowded(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    path = tmp_path_factory.mktemp("crowded") / "t.h5"
    _made(path, _crowded)
    _checked(path, [])
    return path.read_bytes()


TREE = {
    "version": (4, b"\x01"), "kind": (5, b"\x02"), "node": (6, b"\x01"), "record": (10, b"\x0c"),
    "depth": (12, b"\x07"), "split": (14, b"\x63"), "merge": (15, b"\x29"),
    "records of the root": (24, b"\xff\x00"),
}  # fmt: skip
HEAP = {
    "version": (4, b"\x01"), "bytes of an id": (5, b"\x09"), "filters": (7, b"\x01"),
    "flags": (9, b"\x04"), "width": (110, b"\x08"), "first block": (113, b"\x08"),
    "largest block": (122, b"\x02"), "bits": (128, b"\x21"), "rows": (130, b"\x02"),
}  # fmt: skip


@pytest.mark.parametrize(
    ("signature", "at", "value"),
    [(b"BTHD", *how) for how in TREE.values()] + [(b"FRHP", *how) for how in HEAP.values()],
    ids=[f"tree: {name}" for name in TREE] + [f"heap: {name}" for name in HEAP],
)
def test_each_field_of_a_tree_and_of_a_heap_is_held_to_what_the_library_writes(
    crowded: bytes, tmp_path: Path, signature: bytes, at: int, value: bytes
) -> None:
    found = crowded.find(signature)
    seen = 0
    while found >= 0:
        changed = bytearray(crowded)
        changed[found + at : found + at + len(value)] = value
        assert changed != crowded
        path = tmp_path / "t.h5"
        path.write_bytes(changed)
        with pytest.raises(TraceError, match="not built as a trace file is"):
            _checked(path, [])
        seen += 1
        found = crowded.find(signature, found + 1)
    assert seen >= 2  # of links and of attributes, and of large attributes


def test_as_deep_a_tree_and_as_full_a_root_as_is_allowed_pass(
    crowded: bytes, tmp_path: Path
) -> None:
    """Links have records of 11 bytes: 45 fit a node of 512 bytes with 10 of its own."""
    changed = bytearray(crowded)
    found = next(at for at in _every(crowded, b"BTHD") if crowded[at + 5] == 5)
    changed[found + 12 : found + 14] = (6).to_bytes(2, "little")
    path = tmp_path / "t.h5"
    for count, fits in ((45, True), (46, False)):
        changed[found + 24 : found + 26] = count.to_bytes(2, "little")
        path.write_bytes(changed)
        if fits:
            _checked(path, [])
        else:
            with pytest.raises(TraceError):
                _checked(path, [])


def _every(data: bytes, signature: bytes) -> list[int]:
    found, at = [], data.find(signature)
    while at >= 0:
        found.append(at)
        at = data.find(signature, at + 1)
    return found


def test_the_files_own_head_is_held_to_what_the_library_writes(
    crowded: bytes, tmp_path: Path
) -> None:
    """Addresses of 8 bytes that count from the file's begin; then the root where it says."""
    path = tmp_path / "t.h5"
    for at in (9, 10, 12, 19, 36, 43):
        changed = bytearray(crowded)
        changed[at] ^= 4
        path.write_bytes(changed)
        with pytest.raises(TraceError):
            _checked(path, [])
    for length in (0, 9, 47):
        path.write_bytes(crowded[:length])
        with pytest.raises(TraceError):
            _checked(path, [])


def _chunks(file: h5py.File) -> None:
    """The four ways to find chunks that are not a tree."""
    file.create_dataset("single", data=np.zeros(9), chunks=(9,))
    made = h5py.h5p.create(h5py.h5p.DATASET_CREATE)
    made.set_chunk((4,))
    made.set_alloc_time(h5py.h5d.ALLOC_TIME_EARLY)
    made.set_fill_time(h5py.h5d.FILL_TIME_NEVER)
    h5py.h5d.create(file.id, b"implicit", h5py.h5t.IEEE_F64LE, h5py.h5s.create_simple((9,)), made)
    file.create_dataset("fixed", data=np.zeros((9, 9)), chunks=(4, 4), compression="gzip")
    file.create_dataset("extensible", data=np.zeros(9), chunks=(4,), maxshape=(None,))


def _tree_of_chunks(file: h5py.File) -> None:
    file.create_dataset("tree", data=np.zeros((9, 9)), chunks=(4, 4), maxshape=(None, None))


def _in_order(how: int, count: int, *, attributes: bool) -> Make:
    """A group that keeps its links or attributes in the order of their making."""

    def make(file: h5py.File) -> None:
        plan = h5py.h5p.create(h5py.h5p.GROUP_CREATE)
        (plan.set_attr_creation_order if attributes else plan.set_link_creation_order)(how)
        group = h5py.Group(h5py.h5g.create(file.id, b"group", gcpl=plan))
        for number in range(count):
            if attributes:
                group.attrs[f"a{number}"] = number
            else:
                group.create_group(f"g{number}")

    return make


TRACKED = h5py.h5p.CRT_ORDER_TRACKED
INDEXED = TRACKED | h5py.h5p.CRT_ORDER_INDEXED


@pytest.mark.parametrize("count", [2, 40])
@pytest.mark.parametrize("attributes", [False, True])
def test_only_what_is_found_by_the_order_of_making_is_refused(
    tmp_path: Path, count: int, attributes: bool
) -> None:
    path = tmp_path / "t.h5"
    _checked(path, _made(path, _in_order(TRACKED, count, attributes=attributes)))
    found = _made(path, _in_order(INDEXED, count, attributes=attributes))
    with pytest.raises(TraceError):
        _checked(path, found)


def test_chunks_are_found_in_any_way_but_a_tree(tmp_path: Path) -> None:
    path = tmp_path / "t.h5"
    found = _made(path, _chunks)
    assert len(found) == 5
    _checked(path, found)
    found = _made(path, _tree_of_chunks)
    with pytest.raises(TraceError):
        _checked(path, found)


@pytest.mark.parametrize("attributes", [0, 2, 30])
@pytest.mark.parametrize("times", [False, True])
@pytest.mark.parametrize("limits", [False, True])
def test_a_header_is_read_whatever_stands_before_its_messages(
    tmp_path: Path, times: bool, limits: bool, attributes: int
) -> None:
    """Times of making, limits for attributes, a header of more than 255 bytes: each moves them."""

    def made(*most: int) -> Make:
        def make(file: h5py.File) -> None:
            plan = h5py.h5p.create(h5py.h5p.DATASET_CREATE)
            plan.set_chunk((4,) * len(most))
            plan.set_obj_track_times(times)
            if limits:
                plan.set_attr_phase_change(50, 40)
            space = h5py.h5s.create_simple((9,) * len(most), most)
            kind = h5py.h5t.IEEE_F64LE
            found = h5py.Dataset(h5py.h5d.create(file.id, b"d", kind, space, plan))
            for number in range(attributes):
                found.attrs[f"a{number}"] = number

        return make

    path = tmp_path / "t.h5"
    _checked(path, _made(path, made(h5py.h5s.UNLIMITED)))
    found = _made(path, made(h5py.h5s.UNLIMITED, h5py.h5s.UNLIMITED))
    flags = path.read_bytes()[found[1] + 5]
    assert (bool(flags & 0x20), bool(flags & 0x10)) == (times, limits)
    with pytest.raises(TraceError):
        _checked(path, found)
