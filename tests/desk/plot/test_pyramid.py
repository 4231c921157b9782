"""The picture of many samples keeps every spike and every gap. Checked against plain numpy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaugebench.desk.plot.pyramid import Pyramid
from gaugebench.model.arrays import F64
from gaugebench.model.quality import Quality

RATE = 1000.0


def _even(count: int) -> F64:
    return np.arange(count) / RATE


def _noise(count: int) -> F64:
    return np.random.default_rng(5).normal(size=count)


@pytest.mark.parametrize("count", [1, 2, 3, 1000, 40_000, 700_001])
@pytest.mark.parametrize("columns", [1, 300, 1600])
def test_the_extremes_of_what_is_drawn_are_those_of_the_samples(count: int, columns: int) -> None:
    times, values = _even(count), _noise(count)
    line = Pyramid(times, values).line(times[0], times[-1], columns)
    assert line.y.min() == values.min()
    assert line.y.max() == values.max()
    assert np.all(np.diff(line.x) >= 0)


def test_a_spike_of_one_sample_is_drawn_wherever_it_is() -> None:
    times = _even(600_000)
    for place in (0, 1, 77_777, 599_998, 599_999):
        values = np.zeros(len(times))
        values[place] = 1.0
        line = Pyramid(times, values).line(0.0, 600.0, 1600)
        assert line.y.max() == 1.0, place
        at = line.x[line.y.argmax()]
        assert abs(at - times[place]) <= 600.0 / 1600 + 1 / RATE


def test_every_column_holds_the_least_and_greatest_of_its_own_samples() -> None:
    times, values = _even(500_000), _noise(500_000)
    line = Pyramid(times, values).line(0.0, 500.0, 1000)
    starts = np.searchsorted(times, line.x[0::2])
    pairs = line.y.reshape(-1, 2)
    np.testing.assert_array_equal(pairs.min(axis=1), np.minimum.reduceat(values, starts))
    np.testing.assert_array_equal(pairs.max(axis=1), np.maximum.reduceat(values, starts))


def test_no_more_is_drawn_than_the_columns_need() -> None:
    times, values = _even(2_000_000), _noise(2_000_000)
    line = Pyramid(times, values).line(0.0, 2000.0, 1600)
    assert len(line.y) < 2 * 2 * 1600


def test_columns_do_not_move_while_the_picture_is_panned() -> None:
    times, values = _even(400_000), _noise(400_000)
    pyramid = Pyramid(times, values)
    one = pyramid.line(100.0, 200.0, 800)
    other = pyramid.line(100.037, 200.037, 800)
    shared = np.intersect1d(one.x[2:-2], other.x[2:-2])
    assert len(shared) > 700
    picked = [np.sort(p.y[np.isin(p.x, shared)].reshape(-1, 2), axis=1) for p in (one, other)]
    np.testing.assert_array_equal(picked[0][1:-1], picked[1][1:-1])


def test_few_samples_are_drawn_as_they_are() -> None:
    times, values = _even(50_000), _noise(50_000)
    line = Pyramid(times, values).line(10.0, 10.5, 1600)
    assert len(line.y) == pytest.approx(500, abs=3)
    np.testing.assert_array_equal(line.y, values[np.searchsorted(times, line.x)])


@pytest.mark.parametrize("columns", [64, 1600])
@pytest.mark.parametrize("count", [3000, 300_000])
def test_no_line_crosses_a_gap(count: int, columns: int) -> None:
    times, values = _even(count), _noise(count)
    times[count // 3 :] += count / RATE  # a gap as long as all the samples
    line = Pyramid(times, values).line(times[0], times[-1], columns)
    steps = np.diff(line.x)
    across = np.flatnonzero(steps > count / RATE / 2)
    assert len(across) == 1
    pair = line.y[across[0] : across[0] + 2]
    assert np.isnan(pair).any()
    assert np.isnan(line.y).sum() == 1


def test_the_samples_at_both_sides_of_a_gap_are_drawn_on_their_own_side() -> None:
    times, values = _even(300_000), np.zeros(300_000)
    cut = 100_003  # inside a bin of every level, were bins let across
    times[cut:] += 300.0
    values[cut] = 9.0
    line = Pyramid(times, values).line(times[0], times[-1], 600)
    assert line.x[np.nanargmax(line.y)] >= times[cut]


def test_a_flagged_gap_breaks_the_line_though_the_times_are_even() -> None:
    times, values = _even(100), _noise(100)
    quality = np.zeros(100, np.uint16)
    quality[40] = Quality.AFTER_GAP
    line = Pyramid(times, values, quality).line(0.0, 1.0, 1000)
    assert np.isnan(line.y[40])
    assert len(line.y) == 101


@pytest.mark.parametrize("where", ["leading", "middle", "trailing", "all"])
@pytest.mark.parametrize("columns", [50, 5000])
def test_missing_values_are_a_gap_and_never_a_number(where: str, columns: int) -> None:
    times, values = _even(2000), np.ones(2000)
    part = {
        "leading": slice(0, 600),
        "middle": slice(700, 1300),
        "trailing": slice(1400, 2000),
        "all": slice(0, 2000),
    }[where]
    values[part] = np.nan
    line = Pyramid(times, values).line(0.0, 2.0, columns)
    inside = (line.x > times[part][0] + 0.05) & (line.x < times[part][-1] - 0.05)
    assert np.isnan(line.y[inside]).all()
    assert set(line.y[np.isfinite(line.y)]) <= {1.0}


def test_one_missing_value_does_not_blank_its_column() -> None:
    times, values = _even(100_000), np.ones(100_000)
    values[50_000] = np.nan
    assert np.isfinite(Pyramid(times, values).line(0.0, 100.0, 500).y).all()


def test_an_empty_series_is_an_empty_line() -> None:
    line = Pyramid(np.empty(0), np.empty(0)).line(0.0, 1.0, 100)
    assert len(line.x) == len(line.y) == 0


@settings(max_examples=60, deadline=None)
@given(
    count=st.integers(2, 60_000),
    seed=st.integers(0, 9999),
    columns=st.integers(1, 2000),
    share=st.tuples(st.floats(0, 1), st.floats(0, 1)),
)
def test_whatever_the_view_its_extremes_are_kept(
    count: int, seed: int, columns: int, share: tuple[float, float]
) -> None:
    rng = np.random.default_rng(seed)
    times = np.cumsum(rng.uniform(0.5, 1.5, count)) / RATE
    values = rng.normal(size=count)
    values[rng.random(count) < 0.1] = np.nan
    start, end = sorted(times[0] + s * (times[-1] - times[0]) for s in share)
    line = Pyramid(times, values).line(start, end, columns)
    seen = values[(times >= start) & (times <= end)]
    seen = seen[np.isfinite(seen)]
    if len(seen):
        assert np.nanmax(line.y) >= seen.max()
        assert np.nanmin(line.y) <= seen.min()
    drawn = line.y[np.isfinite(line.y)]
    assert np.isin(drawn, values).all()
