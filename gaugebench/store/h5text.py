"""Text and small numbers in an HDF5 file, always where a checksum guards them.

Text of variable length would lie in HDF5's global heap, and a scalar in a block of its own; neither
has a checksum, so damage there would pass for good. Text of fixed length inside an object's header
is guarded with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import h5py
import numpy as np

COMPACT_BYTES = 60_000
"""An object's header takes less than 64 KiB; longer text is chunked, with a checksum."""


def encoded(text: str | Sequence[str]) -> Any:
    """Text, or texts, as an array of fixed-length UTF-8."""
    many = [text] if isinstance(text, str) else list(text)
    data = [one.encode("utf-8") for one in many]
    kind = h5py.string_dtype(
        "utf-8", max(1, *map(len, data)) if len(data) > 1 else len(data[0]) or 1
    )
    return np.array(data[0] if isinstance(text, str) else data, dtype=kind)


def attribute(holder: h5py.HLObject, name: str, value: str | int | Sequence[str]) -> None:
    """Set an attribute, of fixed-length text where it is text."""
    if isinstance(value, int):
        holder.attrs[name] = value
        return
    data = encoded(value)
    holder.attrs.create(name, data, dtype=data.dtype)


def scalar(group: h5py.Group, name: str, value: str | int) -> None:
    """A new dataset that holds one text or whole number; very long text has the shape (1,)."""
    data = np.array(value, np.int64) if isinstance(value, int) else encoded(value)
    if data.nbytes > COMPACT_BYTES:
        one = data.reshape(1)
        group.create_dataset(name, data=one, chunks=(1,), compression="gzip", fletcher32=True)
        return
    layout = h5py.h5p.create(h5py.h5p.DATASET_CREATE)
    layout.set_layout(h5py.h5d.COMPACT)
    # Not create_dataset, which makes a block of its own of it whatever the layout says (measured).
    kind = h5py.h5t.py_create(data.dtype, logical=True)
    space = h5py.h5s.create(h5py.h5s.SCALAR)
    made = h5py.h5d.create(group.id, name.encode("utf-8"), kind, space, layout)
    made.write(h5py.h5s.ALL, h5py.h5s.ALL, data, kind)


def plain(value: Any) -> Any:
    """An attribute's text, or list of texts, as Python's."""
    if isinstance(value, np.ndarray):
        return [plain(one) for one in value.tolist()] if value.ndim else plain(value.item())
    return value.decode("utf-8", "replace") if isinstance(value, bytes) else value
