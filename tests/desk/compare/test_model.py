"""Two sides on one clock: the difference is that of the samples, and never crosses a gap."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from gaugebench.desk.compare.model import (
    Anchor,
    conditions,
    cut,
    difference,
    figure_rows,
    first_side,
    other_pump,
)
from gaugebench.desk.review.opened import prepare
from gaugebench.desk.shown import Shown
from gaugebench.model.arrays import F64
from gaugebench.model.channel import Channel
from gaugebench.model.figures import Figure
from gaugebench.model.role import Port
from gaugebench.model.trace import Series, Trace


def _series(times: F64, values: F64) -> Series:
    return Series(Channel("P"), times, values, np.zeros(len(times), np.uint16))


def test_the_difference_of_two_lines_is_exact_at_unlike_rates() -> None:
    slow, fast = np.arange(0, 2, 0.02), np.arange(0.003, 2, 0.001)
    line = difference(_series(slow, 5.0 * slow), _series(fast, 2.0 * fast))
    inside = np.isfinite(line.y)
    np.testing.assert_array_equal(line.x, slow)
    np.testing.assert_allclose(line.y[inside], -3.0 * line.x[inside], atol=1e-12)
    assert inside.sum() >= len(slow) - 1


def test_the_difference_has_a_gap_where_either_has_one() -> None:
    times = np.arange(0, 1, 0.01)
    holed = np.delete(times, slice(40, 60))
    line = difference(_series(times, times), _series(holed, holed))
    gone = (line.x > holed[39]) & (line.x < holed[40])
    if gone.any():
        assert np.isnan(line.y[gone]).all()
    assert np.isfinite(line.y[~gone]).all()
    other = difference(_series(times[::2], times[::2]), _series(holed, holed))
    inside = (other.x > holed[39] + 1e-9) & (other.x < holed[40] - 1e-9)
    assert np.isnan(other.y[inside]).all()


def test_missing_values_are_no_difference() -> None:
    times = np.arange(0, 1, 0.01)
    values = np.ones(100)
    values[50:70] = np.nan
    line = difference(_series(times, np.ones(100)), _series(times, values))
    assert np.isnan(line.y[51:69]).all()
    assert np.nanmax(np.abs(line.y)) == 0.0


def test_a_side_begins_with_the_first_pump_and_its_neighbour(trace: Trace) -> None:
    one = first_side(prepare(trace))
    assert one is not None
    two = other_pump(one)
    assert two is not None
    assert (one.pump, two.pump, one.loading, two.loading) == (1, 2, 0, 0)


def test_figures_stand_in_two_columns_with_their_difference(trace: Trace) -> None:
    one = first_side(prepare(trace))
    assert one is not None
    two = other_pump(one)
    assert two is not None
    rows = {row[0]: row[1:] for row in figure_rows(one, two, Shown())}
    # The trace holds 343.0 and 349.0 bar (tests/desk/conftest.py): 6.0 bar and 1.75 % apart.
    first, second, apart, share = rows["Settled"]
    assert first.startswith("343.")
    assert second.startswith("34")
    assert float(apart.split()[0]) == pytest.approx(6.0, abs=0.2)
    assert float(share.split()[0]) == pytest.approx(1.75, abs=0.05)
    assert "±" in apart
    told = {row[0]: row[1:] for row in conditions(one, two, Shown())}
    assert told["Oil"][0].endswith("°C")
    assert told["Engine"][0].endswith("rpm")


def test_the_share_spreads_as_drawn_readings_do(trace: Trace) -> None:
    """JCGM 101:2008: readings drawn from their distributions, and the share of each pair."""
    one = first_side(prepare(trace))
    assert one is not None
    two = other_pump(one)
    assert two is not None
    settled = [side.figures.settled for side in (one, two)]
    random = np.random.default_rng(4)
    drawn = [
        random.normal(f.value, f.expanded / 2, 100_000)
        for f in settled
        if isinstance(f, Figure) and f.expanded is not None
    ]
    shares = 100 * (drawn[1] / drawn[0] - 1)
    rows = {row[0]: row[1:] for row in figure_rows(one, two, Shown())}
    share, spread = rows["Settled"][3].removesuffix(" %").split(" ± ")
    assert float(share) == pytest.approx(shares.mean(), abs=0.01)
    assert float(spread) == pytest.approx(2 * shares.std(), abs=0.01)


def test_lined_up_on_half_way_both_cross_it_at_zero(trace: Trace) -> None:
    one = first_side(prepare(trace))
    assert one is not None
    zero = one.anchor_s(Anchor.HALF_WAY)
    assert zero is not None
    part = cut(one, Port.MAIN, zero, 0.5, 0.5)
    assert part is not None
    before, after = part.values[part.times < -0.05], part.values[part.times > 0.1]
    assert before.mean() < 15e6 < after.mean()


def test_an_instant_that_is_absent_is_none(trace: Trace) -> None:
    flat = replace(trace, series=tuple(s for s in trace.series if "control" not in s.channel.name))
    side = first_side(prepare(flat))
    assert side is not None
    assert side.anchor_s(Anchor.DESTROKE) is None
