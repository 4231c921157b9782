"""A journal's events put together: holes told once and to the row, marks and gaps in order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from gaugebench.model.block import Block
from gaugebench.model.event import Event, GapSeen, MarkSet, Rejected, Setup
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.trace import Gap, Trace
from gaugebench.store import replay as module
from gaugebench.store.disk import RealDisk
from gaugebench.store.frames import Kind
from gaugebench.store.journal import JournalWriter
from gaugebench.store.payload import encode
from gaugebench.store.reading import JournalReader
from gaugebench.store.recover import Leftover
from gaugebench.store.replay import Replay

DAMAGED = "the record is damaged here"


@pytest.fixture
def replayed(tmp_path: Path, setup: Setup) -> Callable[..., Replay]:
    """A replay of a journal that holds these events."""

    def make(events: list[Event]) -> Replay:
        journal = JournalWriter(tmp_path / "a.journal", setup, RealDisk())
        journal.append([journal.pack(*encode(event)) for event in events])
        journal.append([journal.pack(Kind.END, b"")])
        journal.sync()
        journal.close()
        journal.release()
        return Replay(JournalReader(journal.folder))

    return make


def _head(replay: Replay) -> Trace:
    for _ in replay.rows():
        pass
    return replay.head()


def _from_row(block: Block, row: int) -> Block:
    return replace(
        block,
        first=block.first + row,
        times=block.times[row:],
        raw=block.raw[row:],
        quality=block.quality[row:],
    )


@pytest.mark.parametrize("lost", [1, 2, 4])
def test_rows_that_are_missing_are_told_to_the_row(
    replayed: Callable[..., Replay], blocks: Callable[..., list[Block]], lost: int
) -> None:
    one, two, three = blocks(5, 3, 5)
    head = _head(replayed([one, _from_row(two, lost), three]))
    assert head.gaps == (Gap("kit", float(one.times[-1]), float(two.times[lost]), lost, DAMAGED),)
    assert head.remarks == ()


def test_a_hole_that_its_source_told_is_not_told_again(
    replayed: Callable[..., Replay], blocks: Callable[..., list[Block]]
) -> None:
    one, _, three = blocks(5, 3, 5)
    told = Gap("kit", float(one.times[-1]), float(three.times[0]), 5, "overrun")
    assert _head(replayed([one, GapSeen(told), three])).gaps == (told,)


@pytest.mark.parametrize(
    "changed", [{"lost": 4}, {"lost": None}, {"end_s": 0.0125}, {"stream": "engine"}]
)
def test_a_hole_that_was_told_otherwise_is_told_as_damage_too(
    replayed: Callable[..., Replay], blocks: Callable[..., list[Block]], changed: dict[str, object]
) -> None:
    one, _, three = blocks(5, 3, 5)
    start_s, end_s = float(one.times[-1]), float(three.times[0])
    told = replace(Gap("kit", start_s, end_s, 5, "overrun"), **changed)  # type: ignore[arg-type]
    head = _head(replayed([one, GapSeen(told), three]))
    assert head.gaps == (told, Gap("kit", start_s, end_s, 5, DAMAGED))


def test_marks_and_gaps_and_rejects_come_by_time_each_mark_as_it_was_last(
    replayed: Callable[..., Replay],
) -> None:
    def mark(key: str, time_s: float) -> Mark:
        return Mark(key, MarkKind.NOTE, time_s, Standing.BY_HAND)

    late, early = Gap("kit", 5.0, 6.0, None, "unplugged"), Gap("engine", 1.0, 2.0, None, "quiet")
    events: list[Event] = [MarkSet(mark("a", 2.0)), MarkSet(mark("b", 1.0)), MarkSet(mark("a", 3))]
    events += [GapSeen(late), GapSeen(early)]
    events += [Rejected("kit", "garbled", 2, 4.0), Rejected("engine", "short", 1, 0.5)]
    replay = replayed(events)
    head = _head(replay)
    assert head.marks == (mark("b", 1.0), mark("a", 3))
    assert head.gaps == (early, late)
    assert [r.time_s for r in replay.annexe().rejected] == [0.5, 4.0]


def test_small_blocks_of_a_stream_are_joined_in_order_and_all_come(
    replayed: Callable[..., Replay],
    blocks: Callable[..., list[Block]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "JOINED_ROWS", 10)
    made = blocks(6, 5, 5)
    rows = list(replayed(list(made)).rows())
    assert [len(r.times) for r in rows] == [10, 10, 5]
    assert np.concatenate([r.raw for r in rows]).tobytes() == b"".join(
        b.raw.tobytes() for b in made
    )


def test_what_a_left_over_record_does_not_say_of_itself_is_said() -> None:
    left = Leftover(Path("visit.journal"), seconds=61.5, held_by="process 7 on bench")
    assert str(left) == (
        "visit.journal: machine not named, time unknown, 62 s, being written by process 7 on bench"
    )
