"""From a text file to a trace: laid out, timed, put in order, in units."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from gaugebench.model.arrays import F64, Bools, frozen
from gaugebench.model.quality import Quality
from gaugebench.model.trace import Gap, Series, Trace
from gaugebench.store.importing.plan import ColumnPlan, plan_import
from gaugebench.store.importing.reader import Progress, Reader
from gaugebench.store.importing.recipe import Recipe

MAIN = "main"
_GAP_STEPS = 2.5
"""A pause longer than this many usual steps is a gap, where rows come evenly."""


def import_trace(path: Path, recipe: Recipe, progress: Progress | None = None) -> Trace:
    """The trace in a text file, whole in memory; `tofile.import_to_file` does not need it whole.

    Raises `TraceError`, `Undecided` (an `ImportChoiceNeeded`), `UnitError`.
    """
    plan = plan_import(path, recipe)
    reader = Reader(plan)
    chunks = list(reader.chunks(progress))
    times = np.concatenate([c.times for c in chunks])
    gaps, after_gap = find_gaps(times, MAIN)
    shared: dict[int, Series] = {}
    holes = sparse_positions(plan.columns)
    for position, column in enumerate(plan.columns):
        raw = np.concatenate([c.columns[position] for c in chunks])
        if column.sparse:
            empty = np.concatenate([c.columns[holes[position]] for c in chunks])
            shared[position] = _series(column, times[~empty], raw[~empty], None, reader)
        else:
            shared[position] = _series(column, times, raw, after_gap, reader)
    return reader.head(tuple(shared.values()), tuple(gaps))


def sparse_positions(columns: Sequence[ColumnPlan]) -> dict[int, int]:
    """Where in a chunk's columns the emptiness of each sparse column stands."""
    sparse = [p for p, c in enumerate(columns) if c.sparse]
    return {position: len(columns) + n for n, position in enumerate(sparse)}


def find_gaps(times: F64, stream: str) -> tuple[list[Gap], Bools]:
    """Pauses in rows that otherwise come evenly, and the rows that follow them."""
    after = np.zeros(len(times), np.bool_)
    steps = np.diff(times)
    usual = float(np.median(steps)) if len(steps) >= 8 else 0.0
    if usual <= 0:
        return [], after
    even = np.mean(np.abs(steps - usual) < 0.25 * usual)
    if even < 0.9:
        return [], after
    at = np.flatnonzero(steps > _GAP_STEPS * usual)
    after[at + 1] = True
    gaps = [
        Gap(
            stream,
            float(times[i]),
            float(times[i + 1]),
            round(float(steps[i]) / usual) - 1,
            "rows are missing in the file",
        )
        for i in at
    ]
    return gaps, after


def _series(
    column: ColumnPlan, times: F64, raw: F64, after_gap: Bools | None, reader: Reader
) -> Series:
    quality = np.zeros(len(times), np.uint16)
    if reader.time_estimated:
        quality |= np.uint16(Quality.TIME_ESTIMATED)
    if after_gap is not None:
        quality[after_gap] |= np.uint16(Quality.AFTER_GAP)
    values, found = column.channel.chain.apply(raw, quality)
    stream = column.channel.title if column.sparse else MAIN
    return Series(column.channel, frozen(times), frozen(values), frozen(found), stream, frozen(raw))
