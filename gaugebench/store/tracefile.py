"""The trace file: a trace written as HDF5, and read back lazily."""

from __future__ import annotations

import shutil
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import h5py
import numpy as np

from gaugebench.errors import RecordError, TraceError
from gaugebench.model.arrays import F64, frozen
from gaugebench.model.channel import StreamSpec
from gaugebench.model.figures import FigureSet
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.role import Role
from gaugebench.model.trace import Series, Trace
from gaugebench.store import h5access, layout, rows, tables
from gaugebench.store.annexe import Annexe
from gaugebench.store.contents import annexe_of, head_of, places_in, streams_in
from gaugebench.store.figurerows import figure_rows
from gaugebench.store.guardedfile import GuardedFile
from gaugebench.store.h5chunks import Chunked
from gaugebench.store.h5text import scalar
from gaugebench.store.jsonform import form
from gaugebench.store.names import sync_folder
from gaugebench.store.newfile import part_beside, write_new
from gaugebench.store.streamwriter import Place
from gaugebench.store.tracewriter import TraceWriter

SAMPLE_BYTES = 26
"""Of a sample in memory: value, raw value, quality and its share of the times."""
LARGEST_LOAD_BYTES = 8 << 30
"""8 channels at 1 kHz for eleven hours."""
_NO_FINDING = {MarkKind.NOTE, MarkKind.ALARM, MarkKind.GAP}


@dataclass(frozen=True, slots=True, eq=False)
class Overview:
    """Smallest and largest value in each of a run of buckets, in order of time.

    start_s, end_s: instants of a bucket's first and last sample; low, high: in the inside unit,
    NaN where a bucket has no value. All of shape (m,). Buckets of one sample are samples.
    """

    start_s: F64
    end_s: F64
    low: F64
    high: F64
    samples_per_bucket: int


class TraceFile:
    """A trace file, open only while it is being asked. Raises `TraceError` throughout."""

    def __init__(self, path: Path) -> None:
        """Read everything but the samples."""
        self.path = path
        with h5access.opened(path) as entry:
            self.format = h5access.format_of(entry)
            self._streams = streams_in(entry)
            self.rows = {
                name: len(h5access.samples(entry, f"streams/{name}/time", "<f8"))
                for name in self._streams
            }
            self._by_stream = dict(places_in(entry))
            self.places = tuple(p for places in self._by_stream.values() for p in places)
            h5access.refuse_unlikely(entry, "streams", self._declared())
            self.head = head_of(entry, self.format)
            self.annexe = annexe_of(entry)

    def trace(self) -> Trace:
        """All of it, samples and all."""
        return self._between(None)

    def window(
        self,
        start_s: float,
        end_s: float,
        only: Collection[str] | None = None,
        *,
        with_raw: bool = True,
    ) -> Trace:
        """The samples with start_s <= time < end_s, and all that belongs to the trace.

        only: the names of the channels that are read; all by default. with_raw: whether the raw
        values are read too.
        """
        return self._between((start_s, end_s), only, with_raw=with_raw)

    def overview(
        self, channel: Role | str, start_s: float, end_s: float, buckets: int = 2000
    ) -> Overview:
        """Minima and maxima of a channel (by role or name) over at least `buckets` buckets.

        Read from the finest stored overview that is no finer than needed; where the stretch is
        short, the samples themselves. Never fewer than `buckets` unless there are fewer samples.
        """
        place = self._place(channel)
        with h5access.opened(self.path) as entry:
            home = h5access.group(entry, f"streams/{place.stream}")
            times = h5access.samples(home, "time", "<f8")
            low, high = _span(times, start_s, end_s)
            for step in reversed(layout.levels(len(times))):
                if (high - low) >= buckets * step and _has_overview(home, step):
                    return _stored(home, place, step, low, high)
            values = h5access.samples(entry, f"{place.group}/{place.dataset}", "<f8", len(times))
            at, found = times[low:high], values[low:high]
            return Overview(at, at, found, found, 1)

    def span_s(self) -> tuple[float, float]:
        """First and last instant, s; (0, 0) for a trace without samples."""
        ends: list[tuple[float, float]] = []
        with h5access.opened(self.path) as entry:
            for name, count in self.rows.items():
                if count:
                    times = h5access.samples(entry, f"streams/{name}/time", "<f8")
                    ends.append((float(times[0]), float(times[count - 1])))
        return (min(e[0] for e in ends), max(e[1] for e in ends)) if ends else (0.0, 0.0)

    def _place(self, channel: Role | str) -> Place:
        wanted = str(channel)
        for place in self.places:
            if wanted in {place.channel.title, place.channel.name}:
                return place
        raise TraceError(f"{self.path.name} has no channel “{wanted}”.")

    def _declared(self) -> int:
        """Bytes of samples that the whole of it comes to, however its parts share the file."""
        return sum(
            self.rows[name] * (8 + sum(18 if p.has_raw else 10 for p in places))
            for name, places in self._by_stream.items()
        )

    def _check_size(self) -> None:
        """Refuse to load more than memory is likely to hold, whatever the file is packed to."""
        count = sum(self.rows[p.stream] for p in self.places)
        if count * SAMPLE_BYTES > LARGEST_LOAD_BYTES:
            raise TraceError(
                f"{self.path.name} holds {count} samples, more than are loaded at once; open a "
                "part of it."
            )

    def _between(
        self,
        limits: tuple[float, float] | None,
        only: Collection[str] | None = None,
        *,
        with_raw: bool = True,
    ) -> Trace:
        series: list[Series] = []
        if limits is None:
            self._check_size()
        with h5access.opened(self.path) as entry:
            for name, count in self.rows.items():
                times = h5access.samples(entry, f"streams/{name}/time", "<f8", count)
                low, high = (0, count) if limits is None else _span(times, *limits)
                at = frozen(times[low:high])
                for place in self._by_stream[name]:
                    if only is not None and place.channel.name not in only:
                        continue
                    place = place if with_raw else replace(place, has_raw=False)  # noqa: PLW2901
                    made = _series(entry, place, at, slice(low, high), count)
                    series.append(replace(made, stream=self._streams[name].name))
        return replace(self.head, series=tuple(series))


def write_trace(trace: Trace, path: Path, annexe: Annexe | None = None) -> Path:
    """Write a trace to a new file; a taken name gets a number. The path it got.

    Raises `RecordError` where it cannot be written; nothing is then left behind.
    """
    return write_new(path, lambda part: _fill(trace, part, annexe or Annexe()))


def save_findings(path: Path, found: FigureSet, marks: tuple[Mark, ...] | None = None) -> None:
    """Save figures and their marks in a trace file; the samples are not touched.

    marks: all marks as they now stand; by default those in the file that were set by hand, or are
    no finding (alarms, gaps), and those of `found`. The file is copied, the copy is changed and
    takes the file's place in one step. Raises `TraceError`, `RecordError`.
    """
    text = form(FigureSet).dump(found).decode()
    if len(text.encode()) > layout.LONGEST_FIGURES:
        raise RecordError(
            f"The figures of {len(found.loadings)} loadings are more than {path.name} can keep; "
            "look at a part of the trace and save the figures of that."
        )
    with h5access.opened(path) as entry:
        if h5access.format_of(entry) > layout.FORMAT:
            raise TraceError(
                f"{path} was made by a newer version of the program; this one can read it but not "
                "change it."
            )
        before = rows.marks_from(h5access.table(entry, tables.MARKS))
    if marks is None:
        kept = [m for m in before if m.standing is Standing.BY_HAND or m.kind in _NO_FINDING]
        by_key = {m.key: m for m in found.marks} | {m.key: m for m in kept}
        marks = tuple(by_key.values())
    part = part_beside(path)
    try:
        shutil.copyfile(path, part)
        disk = GuardedFile(part, existing=True)
        with h5py.File(disk, "r+", libver=layout.LIBRARY_RANGE) as file:
            entry = file[layout.ENTRY]
            for name in (tables.MARKS.name, tables.FIGURES.name, "figures_json"):
                if name in entry:
                    del entry[name]
            tables.write(entry, tables.MARKS, rows.mark_rows(marks))
            tables.write(entry, tables.FIGURES, figure_rows(found))
            scalar(entry, "figures_json", text)
        disk.close()
        part.replace(path)
        sync_folder(path.parent)
    except OSError as fault:
        raise RecordError(
            f"The figures cannot be saved in {path}: {fault.strerror or fault}; the trace is as it "
            "was, so free some space or close what holds it, and save again."
        ) from fault
    finally:
        part.unlink(missing_ok=True)


def by_stream(series: Sequence[Series]) -> list[list[Series]]:
    """Series that share a stream, its times and whether raw values were kept."""
    groups: list[list[Series]] = []
    for one in series:
        for many in groups:
            first = many[0]
            if (
                first.stream == one.stream
                and (first.raw is None) == (one.raw is None)
                and (first.times is one.times or np.array_equal(first.times, one.times))
            ):
                many.append(one)
                break
        else:
            groups.append([one])
    return groups


def _fill(trace: Trace, part: Path, annexe: Annexe) -> None:
    streams = by_stream(trace.series)
    specs = [
        StreamSpec(
            many[0].stream,
            tuple(s.channel for s in many),
            rate_hz=None,
        )
        for many in streams
    ]
    keep_raw = [many[0].raw is not None for many in streams]
    with TraceWriter(part, specs, keep_raw) as writer:
        for index, many in enumerate(streams):
            for low in range(0, len(many[0]), layout.CHUNK_ROWS):
                part_of = slice(low, low + layout.CHUNK_ROWS)
                raws = [s.raw[part_of] for s in many if s.raw is not None]
                writer.append(
                    index,
                    many[0].times[part_of],
                    np.column_stack(raws) if raws else None,
                    np.column_stack([s.values[part_of] for s in many]),
                    np.column_stack([s.quality[part_of] for s in many]),
                )
        writer.finish(trace, annexe)


def _has_overview(home: h5access.Group, step: int) -> bool:
    return h5access.has(home, "overview") and h5access.has(
        h5access.group(home, "overview"), str(step)
    )


def _span(times: Chunked, start_s: float, end_s: float) -> tuple[int, int]:
    """Rows with start_s <= time < end_s, found by halving, a few reads each."""
    return _first_at(times, start_s), _first_at(times, end_s)


def _first_at(times: Chunked, instant: float) -> int:
    low, high = 0, len(times)
    while high - low > layout.CHUNK_ROWS:
        middle = (low + high) // 2
        if times[middle] < instant:
            low = middle + 1
        else:
            high = middle
    return low + int(np.searchsorted(times[low:high], instant))


def _stored(home: h5access.Group, place: Place, step: int, low: int, high: int) -> Overview:
    level = h5access.group(home, f"overview/{step}")
    first, last = low // step, -(-high // step)
    start = h5access.samples(level, "start", "<f8")[first:last]
    end = h5access.samples(level, "end", "<f8")[first:last]
    pair = h5access.samples(level, place.dataset, "<f8", columns=2)[first:last]
    return Overview(start, end, pair[:, 0], pair[:, 1], step)


def _series(entry: h5access.Group, place: Place, times: F64, part: slice, count: int) -> Series:
    values = h5access.samples(entry, f"{place.group}/{place.dataset}", "<f8", count)
    home = h5access.group(entry, f"streams/{place.stream}")
    quality = h5access.samples(home, f"quality/{place.dataset}", "<u2", count)
    raw = h5access.samples(home, f"raw/{place.dataset}", "<f8", count) if place.has_raw else None
    return Series(
        place.channel,
        times,
        frozen(values[part]),
        frozen(quality[part]),
        place.stream,
        None if raw is None else frozen(raw[part]),
    )
