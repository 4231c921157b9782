"""Looking into an HDF5 file that may be damaged, foreign or hostile, within bounded memory.

Only plain datasets reached over hard links are read, their declared size is held against what the
file really stores, and whatever the library finds wrong becomes one `TraceError`.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import h5py
import numpy as np

from gaugebench.errors import GaugebenchError, TraceError, UnitError
from gaugebench.store import layout, tables

LARGEST_TABLE_BYTES = 64 << 20
LARGEST_TEXT_BYTES = 1 << 20
LONGEST_STREAM = 1 << 40
MOST_COLUMNS = 4096
_SIGNATURE = b"\x89HDF\r\n\x1a\n"
_OLDEST_SUPERBLOCK = b"\x02"
"""From this version on HDF5 guards its structure with checksums; damage in older ones can make
the library loop for ever (measured), so they are refused.
"""


def is_hdf5(path: Path) -> bool:
    """Whether a file begins as HDF5 does; False where it cannot be read."""
    try:
        with path.open("rb") as file:
            return file.read(len(_SIGNATURE)) == _SIGNATURE
    except OSError:
        return False


@contextmanager
def opened(path: Path) -> Iterator[h5py.Group]:
    """The entry of a trace file. Raises `TraceError`, also for what is found wrong inside."""
    try:
        with path.open("rb") as file:
            begins = file.read(len(_SIGNATURE) + 1)
    except OSError as fault:
        raise TraceError(f"{path} cannot be opened: {fault.strerror}.") from fault
    if begins[: len(_SIGNATURE)] != _SIGNATURE:
        raise TraceError(f"{path} is not a trace file: it does not begin as HDF5 does.")
    if begins[len(_SIGNATURE) :] < _OLDEST_SUPERBLOCK:
        raise TraceError(
            f"{path} is an HDF5 file, but not a Gaugebench trace: its structure is of a kind "
            "without checksums, which no trace has."
        )
    try:
        # Trace files are replaced and never written in place, so no lock is needed to read one;
        # asking for one fails on some network drives and read-only media.
        with h5py.File(path, "r", locking=False) as file:
            yield _entry(file, path)
    except UnitError as fault:
        raise TraceError(f"{path} is not a trace as documented: {fault}") from fault
    except GaugebenchError:
        raise
    except (
        OSError,
        RuntimeError,
        KeyError,
        ValueError,
        TypeError,
        AttributeError,
        IndexError,
        OverflowError,
        MemoryError,
        AssertionError,
    ) as fault:  # fmt: skip - what the library raises on damage, by experience
        raise TraceError(
            f"{path} is damaged or not a trace file ({type(fault).__name__}: {_short(fault)})."
        ) from fault


def _short(fault: Exception) -> str:
    return " ".join(str(fault).split())[:200]


def _entry(file: h5py.File, path: Path) -> h5py.Group:
    version = file.attrs.get("gaugebench_format")
    if not isinstance(version, (int, np.integer)):
        raise TraceError(f"{path} is an HDF5 file, but not a Gaugebench trace.")
    if layout.ENTRY not in file:
        raise TraceError(f"{path} has no group “{layout.ENTRY}”; it is damaged.")
    return group(file, layout.ENTRY)


def format_of(entry: h5py.Group) -> int:
    """The format version that the file states."""
    return int(entry.file.attrs["gaugebench_format"])


def group(parent: h5py.Group, name: str) -> h5py.Group:
    """A group below, over hard links. Raises `TraceError`."""
    found = _walk(parent, name)
    if not isinstance(found, h5py.Group):
        raise TraceError(f"“{name}” should be a group; the file is damaged.")
    return found


def dataset(parent: h5py.Group, name: str, kinds: str, length: int | None = None) -> h5py.Dataset:
    """A dataset of one dimension below. kinds: of numpy's dtype (`f`, `u`, `S`, `V`).

    length: how long it must be. Raises `TraceError`; nothing is read.
    """
    found = _walk(parent, name)
    if not isinstance(found, h5py.Dataset):
        raise TraceError(f"“{name}” should be a dataset; the file is damaged.")
    if found.dtype.kind not in kinds or found.is_virtual or found.external:
        raise TraceError(f"“{name}” is not stored as the format says; the file is damaged.")
    if found.ndim and not _is_backed(found):
        raise TraceError(f"“{name}” declares more than the file holds; the file is damaged.")
    if length is not None and found.shape[:1] != (length,):
        raise TraceError(f"“{name}” should have {length} rows; the file is damaged.")
    return found


def table(entry: h5py.Group, which: tables.Table) -> list[dict[str, Any]]:
    """A table's rows; none where an older file has no such table. Raises `TraceError`."""
    if which.name not in entry:
        return []
    found = dataset(entry, which.name, "V")
    if found.ndim != 1 or found.size * found.dtype.itemsize > LARGEST_TABLE_BYTES:
        raise TraceError(f"The table “{which.name}” is too large; the file is damaged.")
    names = found.dtype.names or ()
    kinds = {c.name: {"f8": "f", "i8": "iu", "text": "S"}[c.kind] for c in which.columns}
    for name in names:
        if name in kinds and found.dtype[name].kind not in kinds[name]:
            raise TraceError(f"Column “{name}” of table “{which.name}” is of another kind.")
    return tables.rows_of(which, found[:])


def text(entry: h5py.Group, name: str) -> str:
    """A text; empty where there is none. Raises `TraceError`."""
    if name not in entry:
        return ""
    found = dataset(entry, name, "S")
    if found.shape not in {(), (1,)} or found.dtype.itemsize > LARGEST_TEXT_BYTES:
        raise TraceError(f"“{name}” should be a text; the file is damaged.")
    value = found[()] if found.shape == () else found[0]
    return bytes(value).decode("utf-8")


def _walk(parent: h5py.Group, name: str) -> Any:
    at: Any = parent
    for part in name.split("/"):
        if not isinstance(at, h5py.Group) or not isinstance(
            at.get(part, getlink=True), h5py.HardLink
        ):
            raise TraceError(f"“{name}” is not in the file; it is damaged or not a trace.")
        at = at[part]
    return at


def _is_backed(found: h5py.Dataset) -> bool:
    """Whether every chunk that the shape asks for is there, so that no shape costs memory."""
    if 0 in found.shape:
        return True
    if found.chunks is None:
        return bool(found.id.get_storage_size() >= found.size * found.dtype.itemsize)
    wanted = 1
    for length, chunk in zip(found.shape, found.chunks, strict=True):
        wanted *= -(-length // chunk)
    if np.prod(found.chunks, dtype=np.float64) * found.dtype.itemsize > LARGEST_TABLE_BYTES:
        return False
    return bool(found.id.get_num_chunks() == wanted)
