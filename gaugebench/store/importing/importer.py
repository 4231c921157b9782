"""From a text file to a trace in memory, or straight to a trace file of any length."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from gaugebench.errors import TraceError
from gaugebench.model.arrays import F64, U16, frozen
from gaugebench.model.channel import StreamSpec
from gaugebench.model.columns import condition
from gaugebench.model.quality import Quality
from gaugebench.model.trace import Series, Trace
from gaugebench.store.annexe import Annexe
from gaugebench.store.importing.gaps import GapFinder
from gaugebench.store.importing.plan import ColumnPlan, Plan, plan_import
from gaugebench.store.importing.reader import Progress, Reader
from gaugebench.store.importing.recipe import Recipe
from gaugebench.store.newfile import write_new
from gaugebench.store.streamrows import Rows
from gaugebench.store.tracewriter import TraceWriter

MAIN = "main"
SAMPLE_BYTES = 26
"""Of a sample in memory: value, raw value, quality and its share of the times."""
LARGEST_IN_MEMORY = 2 << 30
"""8 channels at 1 kHz for close on three hours; putting it together takes as much again."""


class Streams:
    """The streams that a file's columns make, and their rows as they are read.

    The columns that are filled in all rows share one stream; each of the others has its own.
    `trace` is complete when `rows` has ended.
    """

    def __init__(self, plan: Plan, progress: Progress | None = None) -> None:
        self._reader = Reader(plan)
        self._progress = progress
        self._gaps = GapFinder(MAIN)
        full = [(p, c) for p, c in enumerate(plan.columns) if not c.sparse]
        sparse = [(p, c) for p, c in enumerate(plan.columns) if c.sparse]
        self._members: list[list[tuple[int, ColumnPlan]]] = [full] if full else []
        self._members += [[one] for one in sparse]
        # In a chunk, the emptiness of the sparse columns follows the columns themselves.
        self._holes = {p: len(plan.columns) + n for n, (p, _) in enumerate(sparse)}
        self.specs = tuple(
            StreamSpec(
                members[0][1].channel.title if members[0][1].sparse else MAIN,
                tuple(c.channel for _, c in members),
            )
            for members in self._members
        )

    @property
    def positions(self) -> list[list[int]]:
        """For each stream, where its columns stand among all, so that their order can be kept."""
        return [[position for position, _ in members] for members in self._members]

    def rows(self) -> Iterator[Rows]:
        """All rows, stream by stream within each stretch of the file."""
        for chunk in self._reader.chunks(self._progress):
            for stream, members in enumerate(self._members):
                first, column = members[0]
                hole = chunk.columns[self._holes[first] if column.sparse else -1]
                raw = np.column_stack([chunk.columns[p] for p, _ in members])
                times = chunk.times
                if hole.any():
                    times, raw = times[~hole], raw[~hole]
                yield self._conditioned(stream, times, raw, self._flags(times, column))

    def trace(self, series: tuple[Series, ...] = ()) -> Trace:
        """The trace, with `series`."""
        return self._reader.head(series, tuple(self._gaps.gaps))

    def annexe(self) -> Annexe:
        """What could not be read, as written."""
        return Annexe(rejected=self._reader.rejected())

    def _flags(self, times: F64, column: ColumnPlan) -> U16:
        flags = np.zeros(len(times), np.uint16)
        if not column.sparse:
            flags[self._gaps.feed(times)] = Quality.AFTER_GAP
        if self._reader.time_estimated:
            flags |= np.uint16(Quality.TIME_ESTIMATED)
        return flags

    def _conditioned(self, stream: int, times: F64, raw: F64, flags: U16) -> Rows:
        shared = np.broadcast_to(flags[:, None], raw.shape)
        values, quality = condition(self.specs[stream], raw, shared)
        return Rows(stream, times, raw, values, quality)


def import_trace(path: Path, recipe: Recipe, progress: Progress | None = None) -> Trace:
    """The trace in a text file, whole in memory.

    Raises `TraceError`, `Undecided` (an `ImportChoiceNeeded`), `UnitError`.
    """
    streams = Streams(plan_import(path, recipe), progress)
    held: list[list[Rows]] = [[] for _ in streams.specs]
    left = LARGEST_IN_MEMORY
    for rows in streams.rows():
        left -= rows.raw.size * SAMPLE_BYTES
        if left < 0:
            raise TraceError(
                f"{path.name} holds more than {LARGEST_IN_MEMORY // SAMPLE_BYTES // 1_000_000} "
                "million samples, too many to hold at once; turn it into a trace file with "
                f"“gaugebench convert {path.name} {path.name.partition('.')[0]}.h5” and open that."
            )
        held[rows.stream].append(rows)
    series: dict[int, Series] = {}
    for spec, places, many in zip(streams.specs, streams.positions, held, strict=True):
        times = frozen(np.concatenate([r.times for r in many]))
        for number, channel in enumerate(spec.channels):
            series[places[number]] = Series(
                channel,
                times,
                frozen(np.concatenate([r.values[:, number] for r in many])),
                frozen(np.concatenate([r.quality[:, number] for r in many])),
                spec.name,
                frozen(np.concatenate([r.raw[:, number] for r in many])),
            )
    return streams.trace(tuple(series[place] for place in sorted(series)))


def import_to_file(
    path: Path, target: Path, recipe: Recipe, progress: Progress | None = None
) -> Path:
    """Turn a text file of any length into a trace file, within bounded memory; the name it got.

    Nothing is left behind where it fails or is stopped. Raises what `import_trace` does, and
    `RecordError` where the target cannot be written.
    """
    streams = Streams(plan_import(path, recipe), progress)

    def fill(part: Path) -> None:
        with TraceWriter(part, streams.specs) as writer:
            for rows in streams.rows():
                writer.append(rows.stream, rows.times, rows.raw, rows.values, rows.quality)
            writer.finish(streams.trace(), streams.annexe())

    return write_new(target, fill)
