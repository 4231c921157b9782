"""A trace file against the journal it was made from, sample by sample."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import h5py
import numpy as np
from numpy.typing import NDArray

from gaugebench.store import h5access, layout
from gaugebench.store.contents import places_in
from gaugebench.store.reading import JournalReader
from gaugebench.store.replay import Replay
from gaugebench.store.streamrows import Rows
from gaugebench.store.streamwriter import Place

_PIECE_ROWS = 1 << 18


class _Stream:
    """Where the comparison stands in one stream."""

    def __init__(self, entry: h5py.Group, name: str, places: list[Place]) -> None:
        home = entry[f"streams/{name}"]
        self.name = name
        self.times = home["time"]
        self.columns = [
            (p.dataset, home[f"raw/{p.dataset}"], entry[f"{p.group}/{p.dataset}"],
             home[f"quality/{p.dataset}"])
            for p in places
        ]  # fmt: skip
        self.at = 0
        self.held: list[Rows] = []
        self.held_rows = 0

    def check(self) -> str | None:
        """Compare what is held; the first difference in words."""
        if not self.held_rows:
            return None
        low, high = self.at, self.at + self.held_rows
        if high > len(self.times):
            return f"stream {self.name} has {len(self.times)} rows, fewer than the journal"
        times = np.concatenate([r.times for r in self.held])
        raw = np.concatenate([r.raw for r in self.held])
        values = np.concatenate([r.values for r in self.held])
        quality = np.concatenate([r.quality for r in self.held])
        if not _same(self.times[low:high], times):
            return f"times of stream {self.name} from row {low}"
        for column, (name, raws, valued, flags) in enumerate(self.columns):
            for kind, stored, expected in (
                ("raw values", raws, raw), ("values", valued, values), ("quality", flags, quality)
            ):  # fmt: skip
                if not _same(stored[low:high], expected[:, column]):
                    return f"{kind} of {name} from row {low}"
        self.at, self.held, self.held_rows = high, [], 0
        return None


def compare(reader: JournalReader, path: Path) -> str | None:
    """The first difference in words, or None where every sample is the same, bit for bit.

    Raises `OSError` or `TraceError` where the file cannot be read back.
    """
    replay = Replay(reader)
    with h5access.opened(path) as looked_at:
        layout_of = places_in(looked_at)
    # Samples are read by the library's own reading, which is what every other program will do.
    with h5py.File(path, "r", locking=False) as file:
        streams = [_Stream(file[layout.ENTRY], name, places) for name, places in layout_of]
        for rows in replay.rows():
            stream = streams[rows.stream]
            stream.held.append(rows)
            stream.held_rows += len(rows.times)
            if stream.held_rows >= _PIECE_ROWS and (found := stream.check()):
                return found
        for stream in streams:
            if found := stream.check():
                return found
            if stream.at != len(stream.times):
                return f"stream {stream.name} has more rows than the journal"
    return None


def _same(stored: NDArray[Any], expected: NDArray[Any]) -> bool:
    """Bit for bit, so that NaN is compared too."""
    return stored.tobytes() == np.ascontiguousarray(expected).tobytes()
