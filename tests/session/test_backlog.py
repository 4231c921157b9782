from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.model.block import Block
from gaugebench.model.event import ClockFit, SourceSaid
from gaugebench.session.backlog import Backlog, time_of


def block(start_s: float, count: int = 10, step_s: float = 0.01) -> Block:
    times = start_s + step_s * np.arange(count, dtype=np.float64)
    return Block(0, 0, times, np.zeros((count, 1)), np.zeros((count, 1), dtype=np.uint16))


def test_what_is_older_than_the_window_goes() -> None:
    backlog = Backlog(seconds=1.0)
    for start in (0.0, 0.5, 1.0, 1.5):
        backlog.add(block(start), now_s=start + 0.1)
    kept = backlog.events()
    assert [time_of(event) >= 0.6 - 1e-9 for event in kept] == [True] * len(kept)
    assert len(kept) == 2


def test_without_a_pretrigger_nothing_is_kept_but_the_clock_fit() -> None:
    backlog = Backlog(seconds=0.0)
    fit = ClockFit("kit", 0, 1.0, 20.0, 1e-4, time_s=0.0)
    backlog.add(fit, now_s=0.0)
    backlog.add(block(0.0), now_s=5.0)
    assert backlog.events() == (fit,)


def test_the_newest_clock_fit_of_a_stream_stands() -> None:
    backlog = Backlog(seconds=10.0)
    for drift in (1.0, 2.0):
        backlog.add(ClockFit("kit", 0, 0.0, drift, 0.0, time_s=drift), now_s=drift)
    assert [e.drift_ppm for e in backlog.events() if isinstance(e, ClockFit)] == [2.0]


@given(st.lists(st.floats(0, 100), min_size=1, max_size=50), st.integers(1, 10))
def test_a_flood_is_bounded(times: list[float], most: int) -> None:
    backlog = Backlog(seconds=1e9, most=most)
    for time in sorted(times):
        backlog.add(SourceSaid("kit", "hello", time), now_s=time)
    assert len(backlog.events()) == min(most, len(times))


def test_what_a_record_holds_is_not_kept_for_the_next() -> None:
    backlog = Backlog(seconds=10.0)
    fit = ClockFit("kit", 0, 0.0, 1.0, 0.0, time_s=0.0)
    backlog.add(fit, now_s=0.0)
    backlog.add(block(0.0), now_s=0.1)
    backlog.forget()
    late = block(0.2)
    backlog.add(late, now_s=0.3)
    assert backlog.events() == (fit, late)
