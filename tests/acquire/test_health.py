"""Counting and advice, on a clock moved by hand."""

from __future__ import annotations

import numpy as np

from gaugebench.acquire.health import Tally
from gaugebench.driver import Reject


def noise(count: int, size: int = 10) -> list[Reject]:
    return [Reject("undecodable", b"\xff" * size, 0.0)] * count


def test_rates_are_of_the_last_two_seconds() -> None:
    tally = Tally("board", None)
    for n in range(50):
        tally.rows("s", ["a"], np.ones((10, 1)), n * 0.1)
    assert tally.rates(4.95) == {"s": 100.0}
    assert tally.rates(20.0) == {"s": 0.0}
    assert tally.counts() == (500, {})


def test_rejects_are_counted_whole_and_kept_in_part() -> None:
    tally = Tally("board", None)
    tally.rejects(noise(1000, 1000), 1.0)
    (event,) = tally.pending(1.0)
    assert (event.kind, event.count) == ("undecodable", 1000)
    assert len(event.samples) == 16
    assert {len(s) for s in event.samples} == {256}
    tally.rejects(noise(5), 1.1)
    assert tally.pending(1.2) == [], "not more often than every half second"
    assert [e.count for e in tally.pending(1.2, at_once=True)] == [5]
    for n in range(1000):
        tally.rejects(noise(16, 256), n)
        tally.pending(n, at_once=True)
    tally.rejects(noise(3, 256), 2000.0)
    assert tally.pending(2000.0)[0].samples == (), "a flood is counted but no longer kept"
    assert tally.counts()[1] == {"undecodable": 1000 + 5 + 16_000 + 3}


def test_wrong_speed_is_suggested_after_two_seconds_of_nothing_else() -> None:
    tally = Tally("board", 9600)
    for n in range(19):
        tally.rejects(noise(3), n * 0.1)
    assert tally.advice(1.9) == ()
    tally.rejects(noise(3), 2.1)
    assert tally.advice(2.1) == (
        "Bytes arrive but no row can be read: wrong speed? Tried 9600 baud.",
    )
    tally.rows("s", ["a"], np.ones((1, 1)), 2.2)
    assert tally.advice(2.2) == ()


def test_an_input_at_exactly_zero_while_others_move_is_suspected() -> None:
    tally = Tally("board", None)
    for n in range(40):
        tally.rows("s", ["P1", "P2"], np.array([[0.0, 188.0 + n]]), n * 0.1)
    assert tally.advice(3.9) == ("“P1” reads exactly 0 while others move: stuck or dead?",)
    tally.rows("s", ["P1", "P2"], np.array([[0.1, 188.0]]), 4.0)
    assert tally.advice(4.0) == ()


def test_all_at_rest_is_no_suspicion() -> None:
    tally = Tally("board", None)
    for n in range(60):
        tally.rows("s", ["P1", "P2"], np.array([[0.0, 0.0]]), n * 0.1)
    assert tally.advice(5.9) == ()
