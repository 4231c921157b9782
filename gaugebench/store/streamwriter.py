"""Writes one stream of a trace file: its times, values, raw values, quality and overview."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import h5py
import numpy as np
from numpy.typing import NDArray

from gaugebench.model.arrays import F64, U16
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.store import layout
from gaugebench.store.h5text import attribute
from gaugebench.store.overview import reduce


@dataclass(frozen=True, slots=True)
class Place:
    """Where a channel's samples are: the NXdata group and the name in it, under the entry."""

    stream: str
    channel: Channel
    group: str
    dataset: str
    has_raw: bool


class _Growing:
    """A dataset that grows by whole chunks."""

    def __init__(self, parent: h5py.Group, name: str, dtype: str, units: str) -> None:
        self.dataset = parent.create_dataset(
            name,
            shape=(0,),
            maxshape=(None,),
            dtype=dtype,
            chunks=(layout.CHUNK_ROWS,),
            **layout.STORED,
        )
        if units:
            attribute(self.dataset, "units", units)

    def extend(self, data: NDArray[Any]) -> None:
        before = len(self.dataset)
        self.dataset.resize((before + len(data),))
        self.dataset[before:] = data


class StreamWriter:
    """Appends rows; `finish` writes the rest and links the NXdata groups together."""

    def __init__(self, entry: h5py.Group, name: str, spec: StreamSpec, *, keep_raw: bool) -> None:
        self.name = name
        self.spec = spec
        self.rows = 0
        self._entry = entry
        self._keep_raw = keep_raw
        self._home = entry.create_group(f"streams/{name}")
        attribute(self._home, "NX_class", "NXcollection")
        self._times = _Growing(self._home, "time", "<f8", "s")
        attribute(self._times.dataset, "long_name", "time since the session clock's zero")
        self.places = self._choose_places()
        self._values = [self._value_dataset(p) for p in self.places]
        self._raw = [
            _Growing(self._home.require_group("raw"), p.dataset, "<f8", p.channel.raw_unit)
            for p in self.places
            if keep_raw
        ]
        self._quality = [
            _Growing(self._home.require_group("quality"), p.dataset, "<u2", "") for p in self.places
        ]
        self._held: list[tuple[F64, F64 | None, F64, U16]] = []
        self._held_rows = 0
        self._low: list[list[F64]] = [[] for _ in self.places]
        self._high: list[list[F64]] = [[] for _ in self.places]
        self._bucket_start: list[F64] = []
        self._bucket_end: list[F64] = []

    def append(self, times: F64, raw: F64 | None, values: F64, quality: U16) -> None:
        """Hold rows until a whole chunk can be written."""
        if (raw is None) == self._keep_raw:
            raise ValueError("a stream has raw values throughout or not at all")
        self._held.append((times, raw, values, quality))
        self._held_rows += len(times)
        if self._held_rows >= layout.CHUNK_ROWS:
            self._write(self._held_rows - self._held_rows % layout.CHUNK_ROWS)

    def finish(self) -> None:
        """Write what is held, the overview, and the NXdata groups."""
        self._write(self._held_rows)
        self._write_overview()
        for group in dict.fromkeys(p.group for p in self.places):
            data = self._entry[group]
            names = [p.dataset for p in self.places if p.group == group]
            attribute(data, "NX_class", "NXdata")
            attribute(data, "signal", names[0])
            if names[1:]:
                attribute(data, "auxiliary_signals", names[1:])
            attribute(data, "axes", "time")
            data["time"] = self._times.dataset  # a hard link: the times are there once

    def row(self) -> dict[str, Any]:
        """This stream's row of the streams table."""
        return {
            "name": self.name,
            "title": self.spec.name,
            "rate_hz": self.spec.rate_hz,
            "time_estimated": int(self.spec.time_estimated),
            "samples": self.rows,
        }

    def _choose_places(self) -> list[Place]:
        taken: set[str] = {"time"}
        return [
            Place(
                self.name,
                channel,
                layout.group_of(self.name, channel),
                layout.unique(layout.safe(channel.title), taken),
                self._keep_raw,
            )
            for channel in self.spec.channels
        ]

    def _value_dataset(self, place: Place) -> _Growing:
        group = self._entry.require_group(place.group)
        made = _Growing(group, place.dataset, "<f8", layout.inside_unit(place.channel))
        attribute(made.dataset, "long_name", place.channel.title)
        if place.channel.reference is not None:
            attribute(made.dataset, "reference", place.channel.reference.value)
        return made

    def _write(self, rows: int) -> None:
        if not rows:
            return
        times = np.concatenate([h[0] for h in self._held])
        values = np.concatenate([h[2] for h in self._held])
        quality = np.concatenate([h[3] for h in self._held])
        self._times.extend(times[:rows])
        raws = [h[1] for h in self._held if h[1] is not None]
        raw = np.concatenate(raws) if raws else None
        for column in range(len(self.places)):
            self._values[column].extend(values[:rows, column])
            self._quality[column].extend(quality[:rows, column])
            if raw is not None:
                self._raw[column].extend(raw[:rows, column])
            one = np.ascontiguousarray(values[:rows, column])
            low, high = reduce(one, one, layout.OVERVIEW_STEP)
            self._low[column].append(low)
            self._high[column].append(high)
        starts = np.arange(0, rows, layout.OVERVIEW_STEP)
        self._bucket_start.append(times[starts])
        self._bucket_end.append(times[np.minimum(starts + layout.OVERVIEW_STEP, rows) - 1])
        self.rows += rows
        self._held_rows -= rows
        rest = None if raw is None else raw[rows:]
        left = (times[rows:], rest, values[rows:], quality[rows:])
        self._held = [left] if self._held_rows else []

    def _write_overview(self) -> None:
        steps = layout.levels(self.rows)
        if not steps:
            return
        start, end = np.concatenate(self._bucket_start), np.concatenate(self._bucket_end)
        pairs = [
            (np.concatenate(low), np.concatenate(high))
            for low, high in zip(self._low, self._high, strict=True)
        ]
        for step in steps:
            if step != layout.OVERVIEW_STEP:
                factor = layout.OVERVIEW_FACTOR
                pairs = [reduce(low, high, factor) for low, high in pairs]
                start = start[::factor]
                end = np.append(end[factor - 1 :: factor], end[-1:])[: len(start)]
            level = self._home.create_group(f"overview/{step}")
            attribute(level, "samples_per_bucket", step)
            attribute(level.create_dataset("start", data=start, **layout.STORED), "units", "s")
            attribute(level.create_dataset("end", data=end, **layout.STORED), "units", "s")
            for place, (low, high) in zip(self.places, pairs, strict=True):
                made = level.create_dataset(
                    place.dataset, data=np.column_stack((low, high)), **layout.STORED
                )
                attribute(made, "units", layout.inside_unit(place.channel))
