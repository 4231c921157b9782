"""The ring: one writer, many readers, copies."""

from __future__ import annotations

import threading

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.acquire.ring import Ring


def fill(ring: Ring, first: int, rows: int) -> None:
    numbers = np.arange(first, first + rows, dtype=np.float64)
    ring.write(numbers, np.column_stack([numbers, -numbers]), np.zeros((rows, 2), dtype=np.uint16))


def test_the_last_seconds_come_as_copies() -> None:
    ring = Ring(2, 100)
    assert len(ring.last(5.0)) == 0
    fill(ring, 0, 50)
    seen = ring.last(9.0)
    assert seen.times.tolist() == list(range(40, 50))
    assert seen.first == 40
    seen.values[:] = 7
    assert ring.last(0.0).values.tolist() == [[49.0, -49.0]]


def test_a_reader_that_was_away_gets_what_is_still_there() -> None:
    ring = Ring(2, 10)
    fill(ring, 0, 25)
    assert ring.since(0).first == 15
    assert ring.since(22).times.tolist() == [22, 23, 24]
    assert len(ring.since(25)) == len(ring.since(99)) == 0


@given(st.integers(1, 30), st.lists(st.integers(0, 70), max_size=12))
def test_rows_are_those_written_last(capacity: int, sizes: list[int]) -> None:
    ring = Ring(2, capacity)
    for at, size in zip(np.cumsum([0, *sizes]), sizes, strict=False):
        fill(ring, int(at), size)
    total = sum(sizes)
    expected = list(range(max(0, total - capacity), total))
    seen = ring.since(0)
    assert seen.times.tolist() == expected
    assert seen.values[:, 1].tolist() == [-n for n in expected]
    assert ring.written == total


def test_a_reader_never_sees_a_half_written_row() -> None:
    ring = Ring(2, 500)
    stop = threading.Event()

    def write() -> None:
        at = 0
        while not stop.is_set():
            fill(ring, at, 37)
            at += 37

    writer = threading.Thread(target=write)
    writer.start()
    try:
        looks = 0
        while looks < 3000:
            seen = ring.since(0)
            looks += 1
            assert np.array_equal(seen.times, np.arange(seen.first, seen.first + len(seen)))
            assert np.array_equal(seen.values[:, 0], seen.times)
            assert np.array_equal(seen.values[:, 1], -seen.times)
    finally:
        stop.set()
        writer.join()
    assert ring.written > 500, "the writer came round at least once"


def test_an_empty_ring_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one"):
        Ring(0, 5)
