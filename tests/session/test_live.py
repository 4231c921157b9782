from __future__ import annotations

import logging

import numpy as np
import pytest

from gaugebench.analyse.live import LiveMarks
from gaugebench.model.block import Block
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.model.mark import Mark
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
