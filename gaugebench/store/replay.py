"""A journal's events put together again: rows of samples, and all that belongs to them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from gaugebench.model.block import Block
from gaugebench.model.channel import StreamSpec
from gaugebench.model.columns import condition
from gaugebench.model.event import ClockFit, Event, GapSeen, MarkSet, Rejected, SourceSaid
from gaugebench.model.mark import Mark
from gaugebench.model.trace import Gap, Trace
from gaugebench.store.annexe import Annexe
from gaugebench.store.reading import JournalReader
from gaugebench.store.streamrows import Rows

MOST_REJECTED = 200
"""Entries kept of one source and kind; each may carry several pieces, capped by the sender."""
MOST_SAID = 5000
JOINED_ROWS = 4096


class Replay:
    """Goes through a journal once; `head` and `annexe` are complete after `rows` has ended."""

    def __init__(self, reader: JournalReader) -> None:
        self._reader = reader
        self.specs: tuple[StreamSpec, ...] = reader.setup.streams
        self._marks: dict[str, Mark] = {}
        self._gaps: list[Gap] = []
        self._rejected: dict[tuple[str, str], list[Rejected]] = {}
        self._unsaid = 0
        self._said: list[SourceSaid] = []
        self._fits: list[ClockFit] = []
        self._strays = 0
        self._next_row: dict[int, int] = {}
        self._last_s: dict[int, float] = {}
        self._told: dict[str, Gap] = {}

    def rows(self) -> Iterator[Rows]:
        """Every block that is whole, conditioned through its channels' chains.

        Small blocks of a stream are joined first: a board that is read row by row makes as many
        blocks as rows.
        """
        held: dict[int, list[Block]] = {}
        held_rows: dict[int, int] = {}
        for event in self._reader.events():
            if not isinstance(event, Block):
                self._keep(event)
                continue
            if not self._fits_spec(event):
                continue
            self._look_for_hole(event)
            held.setdefault(event.stream, []).append(event)
            held_rows[event.stream] = held_rows.get(event.stream, 0) + len(event)
            if held_rows[event.stream] >= JOINED_ROWS:
                held_rows[event.stream] = 0
                yield self._joined(held.pop(event.stream))
        for blocks in held.values():
            yield self._joined(blocks)

    def _joined(self, blocks: Sequence[Block]) -> Rows:
        times = np.concatenate([b.times for b in blocks])
        raw = np.concatenate([b.raw for b in blocks])
        flags = np.concatenate([b.quality for b in blocks])
        stream = blocks[0].stream
        return Rows(stream, times, raw, *condition(self.specs[stream], raw, flags))

    def head(self) -> Trace:
        """The trace without its series."""
        setup = self._reader.setup
        rejects: Counter[str] = Counter()
        for rejected in self._all_rejected():
            rejects[rejected.kind] += rejected.count
        return Trace(
            series=(),
            started=setup.started,
            origin=setup.origin,
            simulated=setup.simulated,
            particulars=setup.particulars,
            marks=tuple(sorted(self._marks.values(), key=lambda m: m.time_s)),
            gaps=tuple(sorted(self._gaps, key=lambda g: g.start_s)),
            rejects=dict(rejects),
            remarks=tuple(self._remarks()),
            kit=setup.kit,
        )

    def annexe(self) -> Annexe:
        """What is kept beside the trace."""
        return Annexe(
            rejected=tuple(sorted(self._all_rejected(), key=lambda r: r.time_s)),
            said=tuple(self._said),
            fits=tuple(self._fits),
            journal_id=self._reader.journal_id,
        )

    def _all_rejected(self) -> list[Rejected]:
        return [r for same in self._rejected.values() for r in same]

    def _fits_spec(self, block: Block) -> bool:
        known = block.stream < len(self.specs)
        fits = known and block.raw.shape[1] == len(self.specs[block.stream].channels)
        self._strays += not fits
        return fits

    def _keep(self, event: Event) -> None:
        match event:
            case MarkSet():
                self._marks[event.mark.key] = event.mark
            case GapSeen():
                self._gaps.append(event.gap)
                self._told[event.gap.stream] = event.gap
            case Rejected():
                self._reject(event)
            case SourceSaid():
                if len(self._said) < MOST_SAID:
                    self._said.append(event)
                else:
                    self._unsaid += 1
            case ClockFit():
                self._fits.append(event)

    def _reject(self, event: Rejected) -> None:
        """Keep the first of each kind as they came; a flood of more is only counted."""
        same = self._rejected.setdefault((event.source, event.kind), [])
        if len(same) < MOST_REJECTED:
            same.append(event)
        else:
            same[-1] = replace(same[-1], count=same[-1].count + event.count)

    def _look_for_hole(self, block: Block) -> None:
        """Rows are numbered: a jump that no gap explains is a damaged stretch of the record."""
        if not len(block):
            return
        stream, start_s = block.stream, float(block.times[0])
        hole = block.first - self._next_row.get(stream, block.first)
        name = self.specs[stream].name
        told = self._told.pop(name, None)
        if hole > 0 and not (told and told.end_s == start_s and told.lost == hole):
            why = "the record is damaged here"
            self._gaps.append(Gap(name, self._last_s.get(stream, start_s), start_s, hole, why))
        self._next_row[stream] = block.first + len(block)
        self._last_s[stream] = float(block.times[-1])

    def _remarks(self) -> Iterator[str]:
        damage = self._reader.damage
        if not damage.ended:
            yield "The record was not stopped: it ends where the program or the power went away."
        if damage.frames_lost:
            yield f"{damage.frames_lost} pieces of the record are damaged and were left out."
        if damage.sectors_lost:
            yield f"The disk could not read {damage.sectors_lost} sectors of the record."
        if damage.unknown:
            yield (
                f"{damage.unknown} pieces of the record are of a kind that this version of the "
                "program does not know."
            )
        if damage.foreign:
            yield f"{damage.foreign} pieces belong to another record and were left out."
        if self._unsaid:
            yield f"Sources said {self._unsaid} things more than are kept."
        if self._strays:
            yield f"{self._strays} blocks do not fit the kit and were left out."
