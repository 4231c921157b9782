"""The segmenter finds what was put into made-up pressures, however they are cut into blocks."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaugebench.analyse.segmenter import LoadingSpan, Segmenter
from gaugebench.model.arrays import F64


def push(times: F64, start: float, end: float, idle: float, high: float) -> F64:
    """Idle, a rise of 0.3 s, a hold, a fall of 0.2 s."""
    return np.interp(times, [start, start + 0.3, end - 0.2, end], [idle, high, high, idle])


def spans(times: F64, pumps: dict[int, F64], cuts: list[int] | None = None) -> list[LoadingSpan]:
    segmenter = Segmenter(pumps)
    found: list[LoadingSpan] = []
    edges = [0, *sorted(cuts or []), len(times)]
    for low, high in pairwise(edges):
        for pump, values in pumps.items():
            segmenter.feed(pump, times[low:high], values[low:high])
        found += segmenter.advance()
    return found + list(segmenter.finish())


def noisy(times: F64, values: F64, share: float = 0.005) -> F64:
    return values + share * np.max(values) * np.random.default_rng(5).standard_normal(len(times))


@pytest.mark.parametrize("scale", [1.0, 0.15])
@pytest.mark.parametrize("rate", [50, 1000, 10_000])
def test_pushes_are_found_whatever_the_pressure_level_and_the_rate(rate: int, scale: float) -> None:
    times = np.arange(0, 12, 1 / rate)
    one = np.maximum(push(times, 2, 5, 2.5e6, 34e6), push(times, 7, 10, 2.5e6, 30e6))
    two = push(times, 2.2, 5, 2.5e6, 33e6)
    pumps = {1: noisy(times, one) * scale, 2: noisy(times, two) * scale}
    found = spans(times, pumps)
    assert [sorted(s.pumps) for s in found] == [[1, 2], [1]]
    assert found[0].start_s == pytest.approx(2.0, abs=0.15)
    assert found[1].end_s == pytest.approx(10.0, abs=0.15)


def test_neutral_with_spikes_holds_no_loading() -> None:
    times = np.arange(0, 30, 0.002)
    values = noisy(times, np.full(len(times), 2.5e6), 0.02)
    values[::700] += 20e6
    values[100:140] += 10e6
    assert spans(times, {1: values}) == []


def test_partial_loadings_at_both_ends_are_loadings_and_say_so() -> None:
    times = np.arange(0, 10, 0.005)
    values = np.interp(times, [0, 3, 3.2, 6, 6.4, 10], [30e6, 30e6, 2e6, 2e6, 28e6, 28e6])
    first, last = spans(times, {1: noisy(times, values)})
    assert first.pumps[1].cut_start
    assert not first.pumps[1].cut_end
    assert last.pumps[1].cut_end
    assert not last.pumps[1].cut_start


@settings(max_examples=25, deadline=None)
@given(st.lists(st.integers(0, 2399), max_size=40))
def test_blocks_of_any_size_give_the_same_loadings(cuts: list[int]) -> None:
    times = np.arange(0.00123, 12, 0.005)
    one = noisy(times, push(times, 2, 5, 2.5e6, 34e6) + push(times, 7, 10, 0, 30e6))
    two = noisy(times, push(times, 2.5, 6, 2.5e6, 34e6))
    assert spans(times, {1: one, 2: two}, cuts) == spans(times, {1: one, 2: two})


def accelerated(times: F64, stands_s: float, runs_at: float) -> F64:
    """Idle, 32 MPa for a while, then a running level until 8 s."""
    left = 3.3 + stands_s
    corners = [3, 3.3, left, left + 0.5, 8, 8.3]
    return np.interp(times, corners, [2.5e6, 32e6, 32e6, runs_at, runs_at, 2.5e6])


@pytest.mark.parametrize("runs_at", [12e6, 24e6])
def test_a_plateau_that_a_mass_is_accelerated_at_ends_where_it_is_left(runs_at: float) -> None:
    times = np.arange(0, 12, 0.005)
    (found,) = spans(times, {1: noisy(times, accelerated(times, 1.5, runs_at))})
    assert found.pumps[1].eased
    assert found.start_s == pytest.approx(3.0, abs=0.15)
    assert found.end_s == pytest.approx(4.85, abs=0.2)  # leaves within half a second


def test_an_actuator_that_only_runs_is_held_by_nothing() -> None:
    times = np.arange(0, 12, 0.005)
    assert spans(times, {1: noisy(times, accelerated(times, 0.1, 12e6))}) == []


def test_a_hold_that_a_boost_gave_back_is_held_to_its_end() -> None:
    times = np.arange(0, 12, 0.005)
    (found,) = spans(times, {1: noisy(times, accelerated(times, 1.5, 30e6))})
    assert not found.pumps[1].eased
    assert found.end_s == pytest.approx(8.25, abs=0.15)


@pytest.mark.parametrize("height", [0.5e6, 1.0e6, 1.8e6])
@pytest.mark.parametrize("lasts_s", [0.2, 0.8])
def test_a_touch_of_the_lever_before_the_first_push_is_none(height: float, lasts_s: float) -> None:
    times = np.arange(0, 12, 0.005)
    touch = np.interp(times, [4 - lasts_s, 4.05 - lasts_s, 4, 4.05], [0, height, height, 0])
    pressure = push(times, 5, 8, 2.5e6, 34e6) + touch
    (found,) = spans(times, {1: noisy(times, pressure, 0.001)})
    assert found.start_s == pytest.approx(5.0, abs=0.15)
