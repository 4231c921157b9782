"""Axes that end on round numbers, labels that do not cover each other, panes in the right order."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.desk.plot.plan import plan
from gaugebench.desk.plot.span import settle, wanted
from gaugebench.desk.plot.spread import apart, rows
from gaugebench.model.channel import Channel
from gaugebench.model.conditioning import Chain
from gaugebench.model.role import Role
from gaugebench.quantity import Dimension


def test_an_axis_holds_its_values_and_starts_at_zero() -> None:
    low, high = wanted(22.0, 351.0, least=50.0, from_zero=True)
    assert -30 < low <= 0
    assert high == 400.0


def test_an_axis_grows_at_once_and_shrinks_only_when_much_too_high() -> None:
    first = settle(None, 0.0, 100.0, least=10.0, from_zero=True)
    grown = settle(first, 0.0, 300.0, least=10.0, from_zero=True)
    assert grown[1] >= 300.0
    assert settle(grown, 0.0, 250.0, least=10.0, from_zero=True) == grown
    assert settle(grown, 0.0, 100.0, least=10.0, from_zero=True)[1] < 150.0


def test_an_axis_of_a_still_engine_shows_no_speed_below_zero() -> None:
    bottom, top = wanted(0.0, 0.0, least=400.0, from_zero=False)
    assert -40.0 < bottom <= 0.0
    assert top >= 400.0
    assert wanted(1990.0, 2010.0, least=400.0, from_zero=False)[0] > 1700.0  # not from zero
    assert wanted(-12.0, -8.0, least=20.0, from_zero=False)[0] < -12.0


def test_an_axis_without_values_stays() -> None:
    assert settle((0.0, 5.0), math.nan, math.nan, least=1.0, from_zero=True) == (0.0, 5.0)


@given(st.floats(-1e8, 1e8), st.floats(0, 1e8), st.booleans())
def test_an_axis_always_holds_what_it_is_for(low: float, height: float, from_zero: bool) -> None:
    bottom, top = wanted(low, low + height, least=1.0, from_zero=from_zero)
    assert bottom <= low
    assert top >= low + height
    assert top > bottom


@given(st.lists(st.floats(0, 500), min_size=1, max_size=8))
def test_labels_keep_their_order_and_do_not_cover_each_other(wanted_at: list[float]) -> None:
    placed = apart(wanted_at, 30.0, 0.0, 500.0)
    order = sorted(range(len(placed)), key=lambda i: wanted_at[i])
    gaps = [placed[b] - placed[a] for a, b in itertools.pairwise(order)]
    assert all(g >= 30.0 - 1e-6 for g in gaps)
    assert min(placed) >= 15.0 - 1e-6
    assert max(placed) <= 485.0 + 1e-6


def test_words_take_the_first_free_row_and_the_least_important_go_without() -> None:
    assert rows([0, 10, 20, 30], [100] * 4, 3, 4.0) == [0, 1, 2, -1]
    assert rows([0, 200], [100, 100], 3, 4.0) == [0, 0]


def test_main_pressures_are_drawn_together_and_low_ones_below() -> None:
    names = ("pilot", "pump1.main", "pump1.control", "pump2.main", "engine.speed")
    channels = [Channel(n, Role(n), Role(n).dimension) for n in names]
    panes = plan(channels)
    assert [[line.index for line in pane.lines] for pane in panes] == [[1, 3], [0, 2], [4]]
    assert panes[2].dimension is Dimension.SPEED


@pytest.mark.parametrize(("top_pa", "pane"), [(6e7, "Main"), (6e6, "Low")])
def test_a_pressure_without_a_role_goes_by_its_range(top_pa: float, pane: str) -> None:
    channel = Channel("P7", chain=Chain(range_low=0.0, range_high=top_pa))
    assert plan([channel])[0].title == pane
