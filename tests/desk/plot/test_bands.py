"""Bands as an image, held against a picture painted dot by dot in plain Python."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.desk.plot.bands import LEAST_PX, Canvas, extents, table
from gaugebench.desk.plot.pyramid import zigzag
from gaugebench.model.arrays import F64

SIZE = (40, 30)


def _line(columns: list[tuple[float, float] | None], step: float) -> tuple[F64, F64]:
    """x and y of columns `step` apart; None is a column without a value."""
    low = np.array([c[0] if c else np.nan for c in columns])
    high = np.array([c[1] if c else np.nan for c in columns])
    return np.repeat(np.arange(len(columns)) * step, 2), zigzag(low, high)


value = st.floats(-20.0, 50.0).map(lambda v: round(v, 2))
column = st.one_of(st.none(), st.tuples(value, value))


@given(st.lists(column, min_size=1, max_size=60), st.sampled_from([0.3, 0.97, 1.0, 1.7, 5.0]))
def test_every_column_is_covered_and_nothing_beyond_its_neighbours(
    columns: list[tuple[float, float] | None], step: float
) -> None:
    first, last = extents(*_line(columns, step), SIZE)
    for dot in range(SIZE[0]):
        here = [i for i in range(len(columns)) if int(i * step) == dot]
        filled = [c for i in here if (c := columns[i]) is not None]
        for one, other in filled:
            top, bottom = max(round(min(one, other)), 0), min(round(max(one, other)), SIZE[1])
            if top < bottom:
                assert first[dot] <= top
                assert last[dot] >= bottom
        if first[dot] < last[dot]:
            began = max(int(i * step) for i, c in enumerate(columns) if c and i * step < dot + 1)
            shared = [i for i in range(len(columns)) if int(i * step) == began]
            near = [*shared, max(shared[0] - 1, 0)]
            ends = [e for i in near if (c := columns[i]) is not None for e in c]
            assert first[dot] >= min(ends) - 1
            assert last[dot] <= max(ends) + LEAST_PX + 1


def test_a_hole_stays_a_hole_and_a_jump_does_not() -> None:
    x, y = _line([(5.0, 6.0), (20.0, 21.0), None, (5.0, 6.0)], 1.0)
    first, last = extents(x, y, SIZE)
    assert (first[0], last[0]) == (5, 7)
    assert (first[1], last[1]) == (6, 21)  # joined to the column before
    assert first[2] == last[2]
    assert (first[3], last[3]) == (5, 7)
    assert (first[4:] == last[4:]).all()


def test_a_line_that_breaks_between_two_columns_is_not_joined() -> None:
    x = np.array([0.0, 0.0, 0.5, 1.0, 1.0])
    y = np.array([5.0, 6.0, np.nan, 20.0, 21.0])
    first, last = extents(x, y, SIZE)
    assert (first[1], last[1]) == (20, 22)


def test_the_last_line_lies_on_top() -> None:
    x, y = _line([(5.0, 10.0)] * 40, 1.0)
    bits = Canvas().fill([(x, y), (x, y + 2)], SIZE)
    assert bits.shape[1] % 4 == 0
    colours = np.array(table([0xFF0000FF, 0xFFFF0000]))[bits]
    assert colours[4, 3] == 0
    assert colours[6, 3] == 0xFF0000FF
    assert colours[8, 3] == 0xFFFF0000
    assert colours[11, 3] == 0xFFFF0000


def test_nothing_is_drawn_of_a_line_without_values() -> None:
    x = np.repeat(np.arange(5.0), 2)
    assert not Canvas().fill([(x, np.full(10, np.nan))], SIZE).any()
