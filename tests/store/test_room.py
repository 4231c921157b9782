"""How long the disk lasts is told before and while recording."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from gaugebench.model.block import Block
from gaugebench.model.event import Setup
from gaugebench.store.recorder import Recorder
from gaugebench.store.room import SEALED_SHARE, expected_rate, hours_left, hours_of_room


def test_the_expected_rate_is_what_a_journal_takes(
    tmp_path: Path, setup: Setup, blocks: Callable[..., list[Block]]
) -> None:
    recorder = Recorder(tmp_path / "visit.h5", setup)
    for block in blocks(1, 500, 20):  # 10 s at 1 kHz in blocks of 20 ms
        recorder.put(block)
    path = recorder.stop()
    written = recorder.state.bytes
    assert written / 10 == pytest.approx(expected_rate(setup.streams), rel=0.15)
    assert path.stat().st_size < SEALED_SHARE * written


def test_room_is_set_aside_for_sealing() -> None:
    """An hour at 1 kB/s takes 3.6 MB, and its trace 1.2 times as much beside it."""
    assert hours_left(3_600_000 * 2.2, 1000.0) == pytest.approx(1.0)
    assert hours_left(3_600_000 * (2.2 + 1.2), 1000.0, written=3_600_000) == pytest.approx(1.0)
    assert hours_left(1000, 1000.0, written=5000) == 0.0


def test_a_folder_that_is_not_there_cannot_be_told(tmp_path: Path, setup: Setup) -> None:
    assert hours_of_room(tmp_path / "none", setup.streams) is None
    hours = hours_of_room(tmp_path, setup.streams)
    assert hours is not None
    assert hours > 0


def test_hours_are_told_before_the_first_sample(tmp_path: Path, setup: Setup) -> None:
    recorder = Recorder(tmp_path / "visit.h5", setup)
    while recorder.state.free_bytes is None:
        pass
    assert recorder.state.hours_left is not None
    recorder.stop()
