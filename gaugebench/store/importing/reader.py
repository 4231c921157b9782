"""Reads a planned file chunk by chunk, in order of time, and remembers what it met."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from gaugebench.errors import TraceError
from gaugebench.model.event import Rejected
from gaugebench.model.trace import Gap, Particulars, Series, Trace
from gaugebench.store.importing import cells
from gaugebench.store.importing.engine import Columns, Engine
from gaugebench.store.importing.plan import Plan, coarse_step
from gaugebench.store.importing.seconds import Seconds
from gaugebench.store.importing.sequence import Chunk, Sequencer
from gaugebench.store.importing.sniff import split
from gaugebench.store.importing.text import bytes_in
from gaugebench.store.importing.timekind import TimeKind

Progress = Callable[[float], bool]
"""Told the share done, from 0 to 1; answers whether to go on."""
SOURCE = "file"


class Reader:
    """One pass over a file. `head` and `rejected` are complete when `chunks` has ended."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        time = plan.time
        timed = [c for c in (time.column, time.date_column) if c is not None]
        self._engine = Engine(
            separator=plan.layout.separator,
            decimal=plan.layout.decimal,
            thousands=plan.layout.thousands,
            width=len(plan.layout.headings),
            numeric=[c.index for c in plan.columns] + ([] if time.is_text else timed),
            textual=timed if time.is_text else [],
            missing=plan.recipe.missing,
        )
        self._seconds = Seconds(time)
        self._sequencer: Sequencer | None = None
        self._tail = ""
        self.rows = 0

    @property
    def time_estimated(self) -> bool:
        """Whether rows shared their stamps, so that instants were worked out."""
        return self._sequencer is not None and self._sequencer.quantum > 0

    def chunks(self, progress: Progress | None = None) -> Iterator[Chunk]:
        """Rows in order of time: the planned columns' numbers; for each sparse column, which of its
        cells were empty; and in which rows all others were. Raises `TraceError` where `progress`
        says to stop.
        """
        source = self.plan.source
        for found, share in self._parsed():
            yield from self._ordered(found)
            if progress is not None and not progress(share):
                raise TraceError(f"Reading {source.path.name} was stopped.")
        last = self._last_row()
        if last:
            yield from self._ordered(self._engine.read(last))
        if self._sequencer is not None:
            for chunk in self._sequencer.finish():
                self.rows += len(chunk)
                yield chunk
        if not self.rows:
            raise TraceError(f"{source.path.name} holds no row that can be read.")

    def head(self, series: tuple[Series, ...] = (), gaps: tuple[Gap, ...] = ()) -> Trace:
        """The trace, with `series`."""
        told = self._sequencer.gaps if self._sequencer else []
        return Trace(
            series=series,
            started=self._seconds.started,
            origin=f"imported from {self.plan.source.path.name}",
            particulars=Particulars(notes="\n".join(self.plan.layout.preamble)),
            gaps=tuple(sorted((*told, *gaps), key=lambda g: g.start_s)),
            rejects=dict(self._engine.faults.counts),
            remarks=(*self.plan.remarks, *self._remarks()),
            recipe=self.plan.recipe.model_dump(exclude_defaults=True),
        )

    def rejected(self) -> tuple[Rejected, ...]:
        """What could not be read, with the first of each kind as written."""
        faults = self._engine.faults
        return tuple(
            Rejected(SOURCE, kind, count, 0.0, tuple(faults.samples.get(kind, ())))
            for kind, count in faults.counts.items()
        )

    def _parsed(self) -> Iterator[tuple[Columns, float]]:
        """Each block of the file, and the share of the file that is read with it.

        The next block is read and parsed on a thread while this one is put in order.
        """
        source = self.plan.source
        blocks = source.blocks(self.plan.layout.skip_lines)

        def read_next() -> tuple[Columns, float] | None:
            block = next(blocks, None)
            if block is None:
                return None
            return self._engine.read(block), source.read_bytes / max(1, source.size)

        with ThreadPoolExecutor(1, thread_name_prefix="gaugebench-import") as pool:
            ahead = pool.submit(read_next)
            while (found := ahead.result()) is not None:
                ahead = pool.submit(read_next)
                yield found

    def _ordered(self, found: Columns) -> Iterator[Chunk]:
        if not found.rows:
            return
        chunk = self._timed(found)
        if self._sequencer is None:
            self._sequencer = self._make_sequencer(chunk)
        for part in self._sequencer.feed(chunk):
            self.rows += len(part)
            yield part

    def _timed(self, found: Columns) -> Chunk:
        time = self.plan.time
        column = dates = None
        if time.column is not None:
            column = found.texts[time.column] if time.is_text else found.numbers[time.column]
        if time.date_column is not None:
            dates = found.texts[time.date_column]
        times = self._seconds.convert(column, dates, found.rows)
        values = tuple(found.numbers[c.index] for c in self.plan.columns)
        none = np.zeros(found.rows, np.bool_)
        holes = [found.empty.get(c.index) for c in self.plan.columns if c.sparse]
        full = [found.empty.get(c.index) for c in self.plan.columns if not c.sparse]
        # A row in which all of the full columns are empty is there for the others' sake.
        whole = [h for h in full if h is not None]
        blank = np.logical_and.reduce(whole) if full and len(whole) == len(full) else none
        chunk = Chunk(times, (*values, *(none if h is None else h for h in holes), blank))
        timed = np.isfinite(times)
        if timed.all():
            return chunk
        self._engine.faults.add("no time", b"", int(np.count_nonzero(~timed)))
        return chunk.take(timed)

    def _make_sequencer(self, first: Chunk) -> Sequencer:
        quantum, rows = 0.0, 1
        kind = self.plan.time.kind
        is_number = kind in {TimeKind.ELAPSED, TimeKind.EPOCH}
        if self.plan.time.is_text or (is_number and self._is_new(first)):
            quantum, rows = coarse_step(first.times)
        steps = np.diff(first.times[: 1 << 16])
        steps = steps[steps > 0]
        step = float(np.median(steps)) if len(steps) else 0.0
        return Sequencer(
            step=step / rows if quantum else step,
            quantum=quantum,
            per_quantum=rows,
            drop_duplicates=self.plan.recipe.drop_duplicates,
        )

    def _is_new(self, first: Chunk) -> bool:
        """Whether rows that share a time mostly differ in what they hold: fractions were lost.

        Rows that repeat the one before are true duplicates, and where columns take turns, rows of
        one time belong together.
        """
        if any(c.sparse for c in self.plan.columns):
            return False
        shared = np.diff(first.times) == 0
        values = first.columns[: len(self.plan.columns)]
        changed = np.zeros(len(shared), np.bool_)
        for column in values:
            changed |= column[1:] != column[:-1]
        return bool(np.count_nonzero(shared & changed) * 2 > np.count_nonzero(shared))

    def _last_row(self) -> bytes:
        """The last line where it has no line end but is whole; else it is told, not read."""
        ending = self.plan.source.ending
        text = ending.tail.decode("utf-8", "replace")
        separator = self.plan.layout.separator
        row = split(text, separator)
        width = len(self.plan.layout.headings)
        if not text.strip():
            return b""
        if ending.nul_bytes or ending.cut or len(row) != width or self._looks_cut(row):
            self._tail = text
            return b""
        return ending.tail + b"\n"

    def _looks_cut(self, row: list[str]) -> bool:
        """Whether the last cell has fewer decimals, or where there are none fewer digits, than that
        column ever had: a row too few is told, a wrong value is not.
        """
        mark = self.plan.layout.decimal
        rows = self.plan.layout.rows[:-1][:500]  # the sample may end in the very row
        usual = [r[-1] for r in rows if len(r) == len(row) and r[-1]]
        last = row[-1]
        if not usual or not last:
            return bool(usual) and not last
        if last in cells.MISSING_WORDS:
            return False
        if not cells.is_number(last, mark, self.plan.layout.thousands):
            return True
        fewest = min(len(c.partition(mark)[2]) for c in usual)
        if fewest:
            return len(last.partition(mark)[2]) < fewest
        return len(last) < min(map(len, usual))

    def _remarks(self) -> Iterator[str]:
        ending = self.plan.source.ending
        encoding = self.plan.source.encoding
        unread = bytes_in(self._tail + "\0" * ending.nul_bytes, encoding)
        if self._tail:
            yield f"The file ends mid-row; {unread} bytes were not read."
        elif unread:
            yield f"The file ends in {unread} NUL bytes, which were not read."
        if ending.cut:
            yield "The compressed file was cut short; what it still holds was read."
        order = self._sequencer
        if order is None:
            return
        if order.late:
            yield f"{order.late} rows came late and were put in their place."
        if order.restarts:
            yield (
                f"The logger's clock began anew {order.restarts} times; each stretch was put "
                "behind the one before, as the pause between them is not known."
            )
        if order.duplicates:
            kept = "kept; a recipe with “drop_duplicates” leaves them out"
            done = "left out" if order.drop_duplicates else kept
            yield f"{order.duplicates} rows repeat the row before in everything ({done})."
        if order.quantum:
            yield (
                f"Several rows share each time stamp of {order.quantum:g} s; they were spread "
                "evenly in it, so instants are estimated."
            )
        if self._seconds.first_clock and self.plan.time.kind is TimeKind.CLOCK:
            yield f"Times count from {self._seconds.first_clock}; the file states no date."
        if self._seconds.started is not None and self._seconds.started.tzinfo is None:
            yield "The file does not state its time zone."
