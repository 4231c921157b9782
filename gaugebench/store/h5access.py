"""Looking into an HDF5 file that may be damaged, foreign or hostile, within bounds.

Only what lies behind hard links is read, of the exact kind that is written, and what it declares
is held against the size of the file. Whatever the library finds wrong becomes one `TraceError`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import h5py
import numpy as np

from gaugebench.errors import GaugebenchError, TraceError, UnitError
from gaugebench.store import layout, tables
from gaugebench.store.h5chunks import DEFLATE, FLETCHER, SHUFFLE, Chunked
from gaugebench.store.h5structure import Structure
from gaugebench.store.h5text import COMPACT_BYTES, plain

_LARGEST_ATTRIBUTE = 1 << 20
_LONGEST_PATH = 4 * layout.LONGEST_NAME
_DEEPEST_PATH = 6
_SIGNATURE = b"\x89HDF\r\n\x1a\n"
_OLDEST_SUPERBLOCK = b"\x02"
"""From this version on HDF5 guards its structure with checksums; damage in older ones can make
the library loop for ever (measured), so they are refused.
"""


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """A group that was found sound before the library looked into it. h5: the library's own."""

    h5: h5py.Group
    structure: Structure


def is_hdf5(path: Path) -> bool:
    """Whether a file begins as HDF5 does; False where it cannot be read."""
    try:
        with path.open("rb") as file:
            return file.read(len(_SIGNATURE)) == _SIGNATURE
    except OSError:
        return False


@contextmanager
def opened(path: Path) -> Iterator[Group]:
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
        with Structure(path) as structure:
            structure.check(structure.root)
            with h5py.File(path, "r", locking=False) as file:
                yield _entry(Group(file["/"], structure), path)
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


def _entry(root: Group, path: Path) -> Group:
    if not isinstance(attribute(root, "gaugebench_format"), int):
        raise TraceError(f"{path} is an HDF5 file, but not a Gaugebench trace.")
    if not has(root, layout.ENTRY):
        raise TraceError(f"{path} has no group “{layout.ENTRY}”; it is damaged.")
    return group(root, layout.ENTRY)


def root_of(entry: Group) -> Group:
    """The group above the entry."""
    return Group(entry.h5.file["/"], entry.structure)


def format_of(entry: Group) -> int:
    """The format version that the file states."""
    return int(attribute(root_of(entry), "gaugebench_format"))


def file_bytes(entry: Group) -> int:
    """How long the file is."""
    return int(entry.h5.file.id.get_filesize())


def has(parent: Group, name: str) -> bool:
    """Whether a group has a link of that name, without following it."""
    return bool(parent.h5.id.links.exists(name.encode("utf-8")))


def attribute(holder: Group | h5py.Dataset, name: str) -> Any:
    """A text, a whole number or a list of texts; None where there is no such attribute.

    None as well where it is of another kind or gigantic; it is then not read.
    """
    key = name.encode("utf-8")
    identity = holder.h5.id if isinstance(holder, Group) else holder.id
    if not h5py.h5a.exists(identity, key):
        return None
    found = h5py.h5a.open(identity, key)
    kind = found.dtype
    if kind.kind not in "iuS" or len(found.shape) > 1 or kind.subdtype is not None:
        return None
    if math.prod(found.shape) * kind.itemsize > _LARGEST_ATTRIBUTE:
        return None
    value = np.empty(found.shape, kind)
    found.read(value)
    return plain(value)


def group(parent: Group, name: str) -> Group:
    """A group below, over hard links. Raises `TraceError`."""
    found = _walk(parent, name)
    if not isinstance(found, h5py.Group):
        raise TraceError(f"“{name}” should be a group; the file is damaged.")
    return Group(found, parent.structure)


def samples(
    parent: Group, name: str, kind: str, length: int | None = None, columns: int = 0
) -> Chunked:
    """Samples below: a dataset of one axis, or of two where there are `columns`.

    kind: exactly the numpy kind, `<f8` or `<u2`. length: how many rows it must have. Raises
    `TraceError`; nothing is read.
    """
    found = dataset(parent, name)
    if found.dtype != np.dtype(kind) or found.shape[1:] != ((columns,) if columns else ()):
        raise _otherwise(name)
    if length is not None and found.shape[0] != length:
        raise TraceError(f"“{name}” should have {length} rows; the file is damaged.")
    refuse_unlikely(parent, name, math.prod(found.shape) * found.dtype.itemsize)
    return Chunked(found, name, frozenset({SHUFFLE, DEFLATE, FLETCHER}))


def dataset(parent: Group, name: str) -> h5py.Dataset:
    """A dataset below that is kept in the file itself. Raises `TraceError`; nothing is read."""
    found = _walk(parent, name)
    if not isinstance(found, h5py.Dataset):
        raise TraceError(f"“{name}” should be a dataset; the file is damaged.")
    if found.shape is None or found.dtype.hasobject or found.is_virtual or found.external:
        raise _otherwise(name)
    return found


def refuse_unlikely(entry: Group, what: str, declared: int) -> None:
    """Raise `TraceError` where so many bytes cannot be packed in a file of this size."""
    if declared > max(layout.SMALL_BYTES, layout.LARGEST_RATIO * file_bytes(entry)):
        raise TraceError(f"“{what}” declares more than the file holds; the file is damaged.")


def table(entry: Group, which: tables.Table) -> list[dict[str, Any]]:
    """A table's rows; none where an older file has no such table. Raises `TraceError`."""
    if not has(entry, which.name):
        return []
    found = dataset(entry, which.name)
    if found.ndim != 1 or found.dtype.names is None:
        raise _otherwise(which.name)
    size = found.shape[0] * found.dtype.itemsize
    if found.shape[0] > layout.MOST_ROWS or size > layout.LARGEST_TABLE:
        raise TraceError(f"The table “{which.name}” is too large; the file is damaged.")
    if size > file_bytes(entry):  # tables are not packed
        raise TraceError(f"“{which.name}” declares more than the file holds; the file is damaged.")
    kinds = {c.name: c.kind for c in which.columns}
    for name in kinds.keys() & found.dtype.names:
        kind = found.dtype[name]
        if kind.kind != "S" if kinds[name] == "text" else kind != np.dtype(f"<{kinds[name]}"):
            raise TraceError(f"Column “{name}” of table “{which.name}” is of another kind.")
    return tables.rows_of(which, Chunked(found, which.name, frozenset({FLETCHER}))[:])


def text(entry: Group, name: str, most: int = layout.LONGEST_TEXT) -> str:
    """A text of at most so many bytes; empty where there is none. Raises `TraceError`."""
    if not has(entry, name):
        return ""
    found = dataset(entry, name)
    size = found.dtype.itemsize
    if found.dtype.kind != "S" or found.shape not in {(), (1,)} or size > most:
        raise TraceError(f"“{name}” should be a text; the file is damaged.")
    if found.shape == ():
        return bytes(_scalar(found, name)).decode("utf-8")
    if size > max(layout.SMALL_TEXT, layout.LARGEST_TEXT_RATIO * file_bytes(entry)):
        raise TraceError(f"“{name}” declares more than the file holds; the file is damaged.")
    return bytes(Chunked(found, name, frozenset({DEFLATE, FLETCHER}))[0]).decode("utf-8")


def number(entry: Group, name: str) -> int:
    """A whole number. Raises `TraceError` where there is none."""
    found = dataset(entry, name)
    if found.dtype.kind not in "iu" or found.shape != ():
        raise _otherwise(name)
    return int(_scalar(found, name))


def _scalar(found: h5py.Dataset, name: str) -> Any:
    """The one value of a dataset of no axis.

    It lies in the dataset's header, where a checksum guards it, or as earlier files have it in a
    block of its own.
    """
    if found.dtype.itemsize > COMPACT_BYTES:
        raise _otherwise(name)
    return found[()]


def _walk(parent: Group, name: str) -> Any:
    parts = name.split("/")
    if len(name) > _LONGEST_PATH or len(parts) > _DEEPEST_PATH:
        raise TraceError("The file names a path that is too long; it is damaged.")
    at: Any = parent.h5
    for part in parts:
        address = _address(at, part) if isinstance(at, h5py.Group) else None
        if address is None:
            raise TraceError(f"“{name}” is not in the file; it is damaged or not a trace.")
        parent.structure.check(address)
        at = at[part]
    return at


def _address(at: h5py.Group, part: str) -> int | None:
    """Where in the file the object behind a hard link begins; None where there is none."""
    links, name = at.id.links, part.encode("utf-8")
    if not name or not links.exists(name):
        return None
    found = links.get_info(name)
    return int(found.u) if found.type == h5py.h5l.TYPE_HARD else None


def _otherwise(name: str) -> TraceError:
    return TraceError(f"“{name}” is not stored as the format says; the file is damaged.")
