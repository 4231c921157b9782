from __future__ import annotations

import logging

import numpy as np
import pytest

from gaugebench.analyse.live import LiveMarks
from gaugebench.model.block import Block
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.role import Role
from gaugebench.session.live import Live

SPEC = StreamSpec("kit", (Channel("p1", Role.main(1)),), rate_hz=100.0)


def block(first: int, count: int = 50) -> Block:
    times = (first + np.arange(count)) / 100.0
    raw = np.full((count, 1), 2.5e6)
    return Block(0, first, times, raw, np.zeros((count, 1), dtype=np.uint16))


def test_samples_are_conditioned_into_the_ring() -> None:
    live = Live((SPEC,), lambda _: None)
    try:
        for first in (0, 50):
            live.take(block(first))
        window = live.window(0, 10.0)
        assert window.values.shape == (100, 1)
        assert np.all(window.values == 2.5e6)
    finally:
        live.close()


def test_a_fault_in_finding_marks_is_told_and_the_samples_go_on(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fail(*_: object) -> tuple[Mark, ...]:
        raise ZeroDivisionError

    monkeypatch.setattr(LiveMarks, "feed", fail)
    told: list[Mark] = []
    live = Live((SPEC,), told.append)
    with caplog.at_level(logging.ERROR):
        for first in (0, 50):
            live.take(block(first))
        live.close()
    assert len(live.window(0, 10.0)) == 100
    (mark,) = live.marks()
    assert told == [mark]
    assert "ZeroDivisionError" in mark.note
    assert "marks thread" in caplog.text


def held(level_pa: float, start_s: float, seconds: float) -> Block:
    times = start_s + np.arange(int(seconds * 100)) / 100.0
    raw = np.full((len(times), 1), level_pa)
    return Block(0, round(start_s * 100), times, raw, np.zeros((len(times), 1), dtype=np.uint16))


def test_a_hold_is_told_to_whoever_leads_the_stall() -> None:
    live = Live((SPEC,), lambda _: None)
    live.take(held(2.5e6, 0.0, 3.0))
    live.take(held(3.3e7, 3.0, 2.0))
    live.take(held(2.5e6, 5.0, 2.0))
    live.close()
    assert not live.stall.is_settled
    assert live.stall.highest_pa == pytest.approx(3.3e7, rel=0.01)
    again = Live((SPEC,), lambda _: None)
    again.take(held(2.5e6, 0.0, 3.0))
    again.take(held(3.3e7, 3.0, 2.0))
    again.close()
    assert again.stall.is_settled
    assert again.stall.held_s == pytest.approx(2.0, abs=0.4)


def test_the_marks_are_one_tuple_until_one_changes() -> None:
    live = Live((SPEC,), lambda _: None)
    try:
        live.add(Mark("note/2", MarkKind.NOTE, 2.0, Standing.BY_HAND))
        first = live.marks()
        assert live.marks() is first
        live.add(Mark("note/1", MarkKind.NOTE, 1.0, Standing.BY_HAND))
        assert [m.key for m in live.marks()] == ["note/1", "note/2"]
    finally:
        live.close()
