"""Rows in order of time: late rows put back, restarts told apart, coarse stamps spread."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gaugebench.model.arrays import F64
from gaugebench.model.trace import Gap

LATE_ROWS = 64
"""A row may come this many rows late and is put back in its place; more is a restart."""


@dataclass(frozen=True, slots=True, eq=False)
class Chunk:
    """Rows: times (n,), and for each column an array of shape (n,)."""

    times: F64
    columns: tuple[NDArray[Any], ...]

    def __len__(self) -> int:
        return len(self.times)

    def take(self, which: Any) -> Chunk:
        """Rows by index, mask or slice."""
        return Chunk(self.times[which], tuple(c[which] for c in self.columns))


def join(chunks: list[Chunk]) -> Chunk:
    """Rows one after the other."""
    if len(chunks) == 1:
        return chunks[0]
    columns = zip(*(c.columns for c in chunks), strict=True)
    return Chunk(
        np.concatenate([c.times for c in chunks]), tuple(np.concatenate(c) for c in columns)
    )


@dataclass(slots=True)
class Sequencer:
    """Feed it chunks in file order; it hands them back in order of time.

    step: the usual time between rows, s; 0 where unknown. quantum: where stamps are coarser than
    the rows (`08:00:00` four times), the step of the stamps, else 0. per_quantum: rows in one.
    """

    step: float = 0.0
    quantum: float = 0.0
    per_quantum: int = 1
    drop_duplicates: bool = False
    late: int = 0
    duplicates: int = 0
    restarts: int = 0
    gaps: list[Gap] = field(default_factory=list)
    _held: Chunk | None = None
    _offset: float = 0.0
    _last: float = float("-inf")
    _previous: Chunk | None = None
    _group: Chunk | None = None
    _first_group: bool = True

    def feed(self, chunk: Chunk) -> Iterator[Chunk]:
        """Rows that are settled."""
        if not len(chunk):
            return
        if self.quantum:
            chunk = self._spread(chunk, final=False)
            if not len(chunk):
                return
        yield from self._order(chunk, final=False)

    def finish(self) -> Iterator[Chunk]:
        """The rows that were held back."""
        if self.quantum and self._group is not None:
            last = self._spread(self._group.take(slice(0, 0)), final=True)
            if len(last):
                yield from self._order(last, final=False)
        if self._held is not None:
            held, self._held = self._held, None
            yield from self._order(held, final=True)

    def _order(self, chunk: Chunk, *, final: bool) -> Iterator[Chunk]:
        in_order = bool(np.all(np.diff(chunk.times) >= 0))
        held = self._held
        after_held = held is None or chunk.times[0] + self._offset >= held.times[-1]
        if in_order and after_held and not final and len(chunk) > LATE_ROWS:
            if held is not None:
                yield from self._emit(held)
            moved = self._moved(chunk)
            self._held = moved.take(slice(len(moved) - LATE_ROWS, None))
            yield from self._emit(moved.take(slice(0, len(moved) - LATE_ROWS)))
            return
        moved = chunk if final else self._moved(chunk)
        if held is not None and not final:
            moved = join([held, moved])
        self._held = None
        for part in self._untangle(moved):
            keep = 0 if final else min(LATE_ROWS, len(part))
            if self._held is not None:
                yield from self._emit(self._held)
            self._held = part.take(slice(len(part) - keep, None)) if keep else None
            if len(part) > keep:
                yield from self._emit(part.take(slice(0, len(part) - keep)))

    def _moved(self, chunk: Chunk) -> Chunk:
        return Chunk(chunk.times + self._offset, chunk.columns) if self._offset else chunk

    def _untangle(self, chunk: Chunk) -> Iterator[Chunk]:
        """Cut at restarts, shift what follows, and sort what is only late."""
        rest = chunk
        while len(rest):
            at = self._restart_in(rest.times)
            if at is None:
                yield self._sorted(rest)
                return
            if at:
                yield self._sorted(rest.take(slice(0, at)))
            last = float(rest.times[:at].max()) if at else self._last
            shift = last + self.step - float(rest.times[at])
            self._offset += shift
            self.restarts += 1
            self.gaps.append(
                Gap("main", last, last + self.step, None, "the logger started anew; pause unknown")
            )
            rest = Chunk(rest.times[at:] + shift, tuple(c[at:] for c in rest.columns))

    def _restart_in(self, times: F64) -> int | None:
        """The first row of a restart: far back, and not caught up within `LATE_ROWS` rows."""
        highest = np.maximum.accumulate(times)
        backward = np.flatnonzero(times < highest)
        if not len(backward):
            return None
        starts = backward[np.diff(backward, prepend=-2) > 1]
        for at in starts:
            peak = highest[at]
            after = times[at : at + LATE_ROWS + 1]
            fall = peak - times[at]
            caught_up = bool((after >= peak).any())
            if not caught_up and (len(after) > LATE_ROWS or fall > LATE_ROWS * (self.step or fall)):
                return int(at)
            if fall > LATE_ROWS * self.step > 0 and not caught_up:
                return int(at)
        return None

    def _sorted(self, chunk: Chunk) -> Chunk:
        times = chunk.times
        late = int(np.count_nonzero(times < np.maximum.accumulate(times)))
        if not late:
            return chunk
        self.late += late
        return chunk.take(np.argsort(times, kind="stable"))

    def _emit(self, chunk: Chunk) -> Iterator[Chunk]:
        """Count rows that repeat the one before in everything; leave them out where asked."""
        if not len(chunk):
            return
        whole = chunk if self._previous is None else join([self._previous, chunk])
        lead = 0 if self._previous is None else 1
        same = np.diff(whole.times) == 0
        if same.any():
            for column in whole.columns:
                equal = column[1:] == column[:-1]
                if column.dtype.kind == "f":
                    equal |= np.isnan(column[1:]) & np.isnan(column[:-1])
                same &= equal
            count = int(np.count_nonzero(same))
            self.duplicates += count
            if count and self.drop_duplicates:
                keep = np.concatenate(([True], ~same))[lead:]
                chunk = chunk.take(keep)
        if len(chunk):
            self._previous = chunk.take(slice(-1, None))
            self._last = float(chunk.times[-1])
            yield chunk

    def _spread(self, chunk: Chunk, *, final: bool) -> Chunk:
        """Rows that share a stamp, evenly over the stamp's step, in file order."""
        whole = chunk if self._group is None else join([self._group, chunk])
        times = whole.times
        starts = np.flatnonzero(np.diff(times, prepend=np.nan) != 0)
        cut = len(times) if final else int(starts[-1])
        self._group = None if final else whole.take(slice(cut, None))
        if not cut:
            return whole.take(slice(0, 0))
        bounds = starts[starts < cut]
        counts = np.diff(np.append(bounds, cut))
        index = np.arange(cut) - np.repeat(bounds, counts)
        parts = np.maximum(np.repeat(counts, counts), self.per_quantum)
        if self._first_group:
            # The first stamp's rows are the last of its step: the file began within it.
            index[: counts[0]] += max(0, self.per_quantum - int(counts[0]))
            self._first_group = False
        spread = times[:cut] + index * (self.quantum / parts)
        return Chunk(spread, tuple(c[:cut] for c in whole.columns))
