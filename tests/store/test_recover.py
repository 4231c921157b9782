"""Left-over journals are found, described and finished, wherever the work was cut short."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from gaugebench.errors import RecordError
from gaugebench.model.block import Block
from gaugebench.model.event import Setup
from gaugebench.model.role import Role
from gaugebench.store.disk import RealDisk
from gaugebench.store.journal import JournalWriter
from gaugebench.store.opening import open_trace
from gaugebench.store.payload import encode
from gaugebench.store.recorder import Recorder
from gaugebench.store.recover import find, recover
from gaugebench.store.verify import verify

Blocks = Callable[..., list[Block]]


def _leave(folder: Path, setup: Setup, made: list[Block]) -> Path:
    """A journal as a crash leaves it: not ended, not held."""
    journal = JournalWriter(folder, setup, RealDisk())
    journal.append([journal.pack(*encode(block)) for block in made])
    journal.sync()
    journal.close()
    journal.release()
    return folder


def _holds(path: Path, made: list[Block]) -> bool:
    first = open_trace(path).find(Role.main(1))
    assert first is not None
    assert first.raw is not None
    return bool(first.raw.tobytes() == np.concatenate([b.raw[:, 0] for b in made]).tobytes())


def test_what_is_left_over_is_described(tmp_path: Path, setup: Setup, blocks: Blocks) -> None:
    _leave(tmp_path / "visit.journal", setup, blocks(1, 50, 100))
    (tmp_path / "other.h5").write_bytes(b"")
    (left,) = find(tmp_path)
    assert str(left) == "visit.journal: Harrow 210 HX-7, 2026-03-04 10:00:00, 5 s"
    assert left.samples == 10_000
    assert find(tmp_path / "visit.journal") == (left,)


def test_a_long_record_is_described_by_its_ends(
    tmp_path: Path, setup: Setup, blocks: Blocks
) -> None:
    journal = JournalWriter(tmp_path / "long.journal", setup, RealDisk(), segment_bytes=20_000)
    for block in blocks(9, 200, 100):
        journal.append([journal.pack(*encode(block))])
    journal.sync()
    journal.close()
    journal.release()
    middle = sorted((tmp_path / "long.journal").glob("*.seg"))[1:-1]
    assert len(middle) > 5
    (whole,) = find(tmp_path)
    for segment in middle:
        segment.unlink()
        segment.mkdir()  # what is not looked at may be anything
    (left,) = find(tmp_path)
    assert left == whole
    assert (left.samples, round(left.seconds)) == (40_000, 20)


def test_it_is_finished_and_says_that_it_was_not_stopped(
    tmp_path: Path, setup: Setup, blocks: Blocks
) -> None:
    made = blocks(2, 30, 100)
    _leave(tmp_path / "visit.journal", setup, made)
    path = recover(find(tmp_path)[0])
    assert path == tmp_path / "visit.h5"
    assert _holds(path, made)
    assert verify(path) == []
    assert open_trace(path).remarks[0].startswith("The record was not stopped")
    assert find(tmp_path) == ()
    assert list(tmp_path.iterdir()) == [path]


def test_half_a_trace_of_an_earlier_try_is_thrown_away(
    tmp_path: Path, setup: Setup, blocks: Blocks
) -> None:
    made = blocks(3, 10, 100)
    _leave(tmp_path / "visit.journal", setup, made)
    (tmp_path / ".visit.journal.part").write_bytes(b"\x89HDF half of it")
    assert _holds(recover(tmp_path / "visit.journal"), made)
    assert [p.name for p in tmp_path.iterdir()] == ["visit.h5"]


def test_a_trace_that_was_named_before_the_journal_went_is_not_made_twice(
    tmp_path: Path, setup: Setup, blocks: Blocks
) -> None:
    made = blocks(4, 10, 100)
    journal = _leave(tmp_path / "visit.journal", setup, made)
    shutil.copytree(journal, tmp_path / "copy")
    path = recover(journal)
    (tmp_path / "copy").rename(journal)
    assert recover(journal) == path
    assert [p.name for p in tmp_path.iterdir()] == ["visit.h5"]


def test_a_trace_that_is_not_that_of_the_journal_is_left_alone(
    tmp_path: Path, setup: Setup, blocks: Blocks
) -> None:
    made = blocks(5, 10, 100)
    _leave(tmp_path / "visit.journal", setup, made)
    (tmp_path / "visit.h5").write_bytes(b"of the user")
    assert recover(tmp_path / "visit.journal").name == "visit (2).h5"
    assert (tmp_path / "visit.h5").read_bytes() == b"of the user"


def test_a_removal_that_was_cut_short_is_finished(tmp_path: Path) -> None:
    spent = tmp_path / "visit.journal-done"
    spent.mkdir()
    (spent / "000002.seg").write_bytes(b"rest")
    assert find(tmp_path) == ()
    assert list(tmp_path.iterdir()) == []


def test_a_running_record_is_told_and_not_touched(
    tmp_path: Path, setup: Setup, blocks: Blocks
) -> None:
    recorder = Recorder(tmp_path / "visit.h5", setup)
    for block in blocks(6, 10, 100):
        recorder.put(block)
    (left,) = find(tmp_path)
    assert left.held_by is not None
    assert "being written by process" in str(left)
    with pytest.raises(RecordError, match=r"is held by process \d+"):
        recover(left)
    assert _holds(recorder.stop(), blocks(6, 10, 100))


def test_two_records_of_one_name_get_two_journals(tmp_path: Path, setup: Setup) -> None:
    one = Recorder(tmp_path / "visit.h5", setup)
    two = Recorder(tmp_path / "visit.h5", setup)
    assert {one.stop().name, two.stop().name} == {"visit.h5", "visit (2).h5"}


def test_a_journal_without_a_whole_setup_is_told(tmp_path: Path) -> None:
    (tmp_path / "visit.journal").mkdir()
    (left,) = find(tmp_path)
    assert left.trouble is not None
    assert "no whole description" in str(left)


def test_nothing_there_is_said(tmp_path: Path) -> None:
    assert find(tmp_path) == ()
    with pytest.raises(RecordError, match="no unfinished record"):
        recover(tmp_path / "visit.journal")


def test_its_length_is_that_of_its_rows_to_the_last(
    tmp_path: Path, setup: Setup, blocks: Blocks
) -> None:
    (left,) = find(_leave(tmp_path / "visit.journal", setup, blocks(3, 5, 40)).parent)
    assert left.seconds == pytest.approx(0.199)
    assert left.samples == 400


def test_remains_of_an_earlier_removal_are_no_hindrance(
    tmp_path: Path, setup: Setup, blocks: Blocks
) -> None:
    made = blocks(4, 5, 40)
    folder = _leave(tmp_path / "visit.journal", setup, made)
    spent = tmp_path / "visit.journal-done"
    spent.mkdir()
    (spent / "000001.seg").write_bytes(b"of another record of that name")
    assert _holds(recover(folder), made)
    assert [p.name for p in tmp_path.iterdir()] == ["visit.h5"]
