"""The live bins say the same whether samples come in ones or by the thousand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaugebench.desk.plot.rolling import Rolling
from gaugebench.model.arrays import F64, U16
from gaugebench.model.quality import Quality

RATE = 1000.0


def _data(count: int) -> tuple[F64, F64, U16]:
    rng = np.random.default_rng(3)
    values = rng.normal(size=(count, 2))
    return np.arange(count) / RATE, values, np.zeros((count, 2), np.uint16)


@settings(max_examples=50, deadline=None)
@given(sizes=st.lists(st.integers(1, 700), min_size=1, max_size=40), per_bin=st.integers(1, 37))
def test_the_size_of_the_pieces_makes_no_difference(sizes: list[int], per_bin: int) -> None:
    times, values, quality = _data(sum(sizes))
    piecewise, whole = (Rolling(2, per_bin, 40_000, 1 / RATE) for _ in range(2))
    at = 0
    for size in sizes:
        part = slice(at, at + size)
        piecewise.add(times[part], values[part], quality[part])
        at += size
    whole.add(times, values, quality)
    for column in (0, 1):
        one, other = (r.line(column, -1.0) for r in (piecewise, whole))
        np.testing.assert_array_equal(one.x, other.x)
        np.testing.assert_array_equal(one.y, other.y)
        assert one.y.max() == values[:, column].max()
        assert one.y.min() == values[:, column].min()


def test_the_newest_sample_is_drawn_at_once() -> None:
    times, values, quality = _data(1001)
    values[-1] = 50.0
    bins = Rolling(2, 100, 100, 1 / RATE)
    bins.add(times, values, quality)
    assert bins.line(0, 0.0).y.max() == 50.0


def test_a_gap_breaks_the_line_and_ends_its_bin() -> None:
    times, values, quality = _data(1000)
    times[457:] += 2.0
    bins = Rolling(2, 10, 1000, 1 / RATE)
    bins.add(times[:300], values[:300], quality[:300])
    bins.add(times[300:], values[300:], quality[300:])
    line = bins.line(0, -1.0)
    assert np.isnan(line.y).sum() == 2  # one bin, its low and its high
    after = line.x > times[456]
    assert line.x[after][0] == times[457]
    assert line.y[after][:2].min() == values[457:467, 0].min()


@pytest.mark.parametrize("at", [0, 1, 500])
def test_a_gap_between_two_pieces_is_seen(at: int) -> None:
    times, values, quality = _data(1000)
    quality[at] = Quality.AFTER_GAP
    bins = Rolling(2, 10, 1000, 1 / RATE)
    bins.add(times[:at], values[:at], quality[:at])
    bins.add(times[at:], values[at:], quality[at:])
    assert np.isnan(bins.line(0, -1.0).y).any() == (at > 0)


def test_old_bins_are_let_go_and_the_window_stays_whole() -> None:
    times, values, quality = _data(50_000)
    bins = Rolling(2, 10, 200, 1 / RATE)
    for at in range(0, 50_000, 40):
        part = slice(at, at + 40)
        bins.add(times[part], values[part], quality[part])
        start = times[part][-1] - 1.5
        line = bins.line(1, start)
        if start > 0:
            assert line.x[0] <= start
        assert len(line.x) <= 2 * 400
    seen = values[times > start + 0.02, 1]
    assert line.y.max() >= seen.max()


def test_missing_values_are_passed_over_inside_a_bin_and_a_gap_where_they_fill_it() -> None:
    times, values, quality = _data(100)
    values[5, 0] = np.nan
    values[40:60, 0] = np.nan
    bins = Rolling(2, 10, 100, 1 / RATE)
    bins.add(times, values, quality)
    empty = np.isnan(bins.line(0, -1.0).y[0::2])
    assert empty.tolist() == [i in {4, 5} for i in range(10)]
