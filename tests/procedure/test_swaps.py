"""Swap tests: what is proposed, and what an exchange shows."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.model.job import SwapOutcome, Value
from gaugebench.procedure import closing, swaps
from gaugebench.procedure.limiting import Row, Standing


def _row(key: str, standing: Standing = Standing.OPEN) -> Row:
    return Row(key, key, standing, ("seen",), (), (), "")


def _pair(one: float, two: float, u: float = 1.0) -> tuple[Value, Value]:
    return Value(value=one, unit="Pa", expanded=u), Value(value=two, unit="Pa", expanded=u)


@pytest.mark.parametrize(
    ("after", "expected"),
    [
        ((300, 343), SwapOutcome.FOLLOWED),
        ((343, 300), SwapOutcome.STAYED),
        ((343, 343), SwapOutcome.CANNOT_TELL),
        ((343, 260), SwapOutcome.CANNOT_TELL),
    ],
)
def test_followed_or_stayed(after: tuple[float, float], expected: SwapOutcome) -> None:
    assert swaps.judge(_pair(343, 300), _pair(*after)).outcome is expected


def test_no_difference_cannot_follow() -> None:
    found = swaps.judge(_pair(343, 342.5), _pair(342.5, 343))
    assert found.outcome is SwapOutcome.CANNOT_TELL
    assert "did not differ" in found.why


@given(st.floats(-100, 100), st.floats(-100, 100), st.floats(0.1, 60))
def test_never_both_and_never_by_chance(old: float, new: float, u: float) -> None:
    found = swaps.judge(_pair(old, 0, u), _pair(new, 0, u)).outcome
    turned = swaps.judge(_pair(old, 0, u), _pair(-new, 0, u)).outcome
    opposite = {
        SwapOutcome.FOLLOWED: SwapOutcome.STAYED,
        SwapOutcome.STAYED: SwapOutcome.FOLLOWED,
        SwapOutcome.CANNOT_TELL: SwapOutcome.CANNOT_TELL,
    }
    assert turned is opposite[found]


def test_the_cheapest_that_separates_comes_first() -> None:
    proposed = swaps.propose([_row("weak-pump:1"), _row("function-slow:bucket"), _row("zero:1")])
    assert proposed is not None
    assert proposed.key == "transducer-plugs", "no line is opened for it"
    proposed = swaps.propose([_row("weak-pump:1"), _row("function-slow:bucket")])
    assert proposed is not None
    assert proposed.key == "pilot-lines"
    assert proposed.separates == ("weak-pump:1", "function-slow:bucket")


def test_nothing_is_exchanged_where_one_cause_is_left() -> None:
    assert swaps.propose([_row("weak-pump:1"), _row("port:swing", Standing.RULED_OUT)]) is None


def test_an_exchange_nags_and_blocks_until_it_is_put_back(job: Any) -> None:
    job.ready()
    job.do(
        "change made",
        change="swap-1",
        what="swapped",
        does="the lines after the pumps are exchanged",
        undo="exchange the lines after the pumps back",
        read_again=("bucket-time",),
    )
    assert "no exchange" not in job.refused(
        "swap judged", change="swap-1", swap="pump-lines", outcome="followed", why="x"
    )
    assert "Nothing was exchanged" in job.refused(
        "swap judged", change="other", swap="pump-lines", outcome="followed", why="x"
    )
    (line,) = swaps.nag(job.state)
    assert "Put it back" in line
    assert any("exchanged" in b for b in closing.blocks(job.state))
    job.do("change restored", change="swap-1")
    assert swaps.nag(job.state) == ()
    assert any("read again" in b for b in closing.blocks(job.state))


def test_an_exchange_names_what_is_read_before_after_and_again(job: Any) -> None:
    job.ready()
    solenoids = swaps.find("solenoid-plugs")
    assert solenoids is not None
    job.read("control-2-full", 24, 0.3)
    # Pump 2's is out of its band (29 ± 2 bar), so pump 1 is read in the same way.
    assert [c.key for c in swaps.sides(job.state, solenoids)] == [
        "control-1-full",
        "control-2-full",
    ]
    lines = swaps.find("pump-lines")
    assert lines is not None
    # Bucket and arm are fed by one pump each; the boom is not.
    assert [c.key for c in swaps.sides(job.state, lines)] == ["bucket-time", "arm-time"]
    assert all(len(swaps.sides(job.state, s)) == 2 for s in swaps.every())


def test_an_exchange_without_anything_to_read_again_is_refused(job: Any) -> None:
    fields = {"change": "swap-1", "what": "swapped", "does": "lines", "undo": "back"}
    assert "read again" in job.refused("change made", read_again=(), **fields)
    assert "no check" in job.refused("change made", read_again=("hearsay",), **fields)


def test_every_swap_of_the_file_is_whole() -> None:
    for key in (
        "transducer-plugs",
        "solenoid-plugs",
        "pilot-lines",
        "control-lines",
        "pump-lines",
    ):
        found = swaps.find(key)
        assert found is not None
        assert found.followed
        assert found.stayed
    assert swaps.find("x") is None
