"""Joined blocks hold the same rows, and nothing is joined that does not follow on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.model.block import Block
from gaugebench.model.event import Event, Setup, SourceSaid
from gaugebench.store.joining import joined
from gaugebench.store.reading import JournalReader
from gaugebench.store.recorder import Recorder
from gaugebench.store.replay import Replay


def _block(stream: int, first: int, rows: int) -> Block:
    number = np.arange(first, first + rows, dtype=np.float64)
    return Block(stream, first, number, number.reshape(-1, 1), np.zeros((rows, 1), np.uint16))


@given(st.lists(st.tuples(st.integers(0, 2), st.integers(1, 4), st.booleans()), max_size=30))
def test_rows_stay_and_holes_stay(pieces: list[tuple[int, int, bool]]) -> None:
    at, events = [0, 0, 0], list[Event]()
    for stream, rows, skip in pieces:
        at[stream] += skip
        events.append(_block(stream, at[stream], rows))
        at[stream] += rows
        events.append(SourceSaid("kit", f"{stream}", 0.0))
    made = joined(events)
    assert [e for e in made if isinstance(e, SourceSaid)] == events[1::2]
    for stream in range(3):
        before = [e for e in events if isinstance(e, Block) and e.stream == stream]
        after = [e for e in made if isinstance(e, Block) and e.stream == stream]
        for name in ("times", "raw", "quality"):
            one, two = (
                b"".join(getattr(b, name).tobytes() for b in many) for many in (before, after)
            )
            assert one == two
        for one_block, next_block in pairwise(after):
            assert next_block.first > one_block.first + len(one_block)
        for block in after:
            assert block.times.tolist() == list(range(block.first, block.first + len(block)))


def test_rows_that_come_one_by_one_take_few_frames(
    tmp_path: Path, setup: Setup, blocks: Callable[..., list[Block]]
) -> None:
    recorder = Recorder(tmp_path / "visit.h5", setup)
    for block in blocks(1, 2000, 1):
        recorder.put(replace(block))
    while recorder.state.waiting_bytes:
        pass
    reader = JournalReader(tmp_path / "visit.journal")
    assert len(list(reader.events())) < 200
    (rows,) = Replay(reader).rows()
    assert len(rows.times) == 2000
    recorder.stop()
