"""Writes a trace file as samples come, without ever holding all of them."""

from __future__ import annotations

import json
from collections.abc import Sequence
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Any

import h5py

from gaugebench import __version__
from gaugebench.model.arrays import F64, U16
from gaugebench.model.channel import StreamSpec
from gaugebench.model.role import Port
from gaugebench.model.trace import Trace
from gaugebench.store import layout, tables
from gaugebench.store.annexe import Annexe
from gaugebench.store.guardedfile import GuardedFile
from gaugebench.store.h5text import attribute, scalar
from gaugebench.store.rows import channel_row, head_rows
from gaugebench.store.streamwriter import StreamWriter


class TraceWriter:
    """One new trace file. Use as a context manager; `finish` must be called before its end.

    Raises `OSError` where the file exists or cannot be written.
    """

    def __init__(
        self, path: Path, streams: Sequence[StreamSpec], keep_raw: Sequence[bool] | None = None
    ) -> None:
        self._disk = GuardedFile(path)
        self._file = h5py.File(self._disk, "w", libver=layout.LIBRARY_RANGE)
        attribute(self._file, "NX_class", "NXroot")
        attribute(self._file, "gaugebench_format", layout.FORMAT)
        attribute(self._file, "creator", f"gaugebench {__version__}")
        self._entry = self._file.create_group(layout.ENTRY)
        attribute(self._entry, "NX_class", "NXentry")
        attribute(self._file, "default", layout.ENTRY)
        taken: set[str] = set()
        names = [layout.unique(layout.safe(s.name), taken) for s in streams]
        raws = keep_raw or [True] * len(streams)
        self._streams = [
            StreamWriter(self._entry, name, spec, keep_raw=raw)
            for name, spec, raw in zip(names, streams, raws, strict=True)
        ]

    def __enter__(self) -> TraceWriter:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self._file.close()
        if fault is None:
            self._disk.close()
        else:
            with suppress(OSError):  # what went wrong first is what is told
                self._disk.close()

    def append(self, stream: int, times: F64, raw: F64 | None, values: F64, quality: U16) -> None:
        """Rows of one stream: times (n,), the others (n, channels)."""
        self._streams[stream].append(times, raw, values, quality)
        self._disk.check()

    def finish(self, head: Trace, annexe: Annexe) -> None:
        """Write what is not samples; `head.series` is not looked at."""
        for stream in self._streams:
            stream.finish()
        entry = self._entry
        scalar(entry, "title", head.particulars.machine or head.origin or "trace")
        scalar(entry, "start_time", head.started.isoformat() if head.started else "")
        now = datetime.now().astimezone()
        scalar(entry, "written", now.isoformat(timespec="seconds"))
        scalar(entry, "origin", head.origin)
        scalar(entry, "simulated", int(head.simulated))
        scalar(entry, "journal_id", annexe.journal_id)
        scalar(entry, "kit", json.dumps(dict(head.kit), ensure_ascii=False))
        scalar(entry, "recipe", json.dumps(dict(head.recipe), ensure_ascii=False))
        streams = [s.row() for s in self._streams]
        channels = [channel_row(place) for s in self._streams for place in s.places]
        tables.write(entry, tables.STREAMS, streams)
        tables.write(entry, tables.CHANNELS, channels)
        for table, rows in head_rows(head, annexe):
            tables.write(entry, table, rows)
        default = self._default_group()
        if default is not None:
            attribute(entry, "default", default)

    def _default_group(self) -> str | None:
        """The NXdata that a viewer shows first: the one with a main pressure, else the first."""
        places = [p for s in self._streams for p in s.places]
        mains = [p for p in places if p.channel.role and p.channel.role.port is Port.MAIN]
        chosen: Any = next(iter(mains or places), None)
        return chosen.group if chosen else None
