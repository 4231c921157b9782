"""The stall coach. Its numbers are common practice, no source."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.model.job import StallEnded
from gaugebench.procedure import heat, sheet

LIMITS = heat.StallLimits.of(sheet.invented().stall)
START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


def _stall(at_s: float, seconds: float, power_w: float = 100e3) -> StallEnded:
    at = START + timedelta(seconds=at_s)
    return StallEnded(at=at, function="boom up", seconds=seconds, power_w=power_w)


def _after(stalls: list[StallEnded], seconds: float, oil_c: float | None = 50.0) -> str | None:
    return heat.refusal(LIMITS, stalls, stalls[-1].at + timedelta(seconds=seconds), oil_c)


def test_a_usual_stall_waits_the_usual_rest() -> None:
    assert _after([_stall(5, 5)], 29) is not None
    assert _after([_stall(5, 5)], 30) is None


def test_usual_stalls_with_usual_rest_never_meet_the_budget() -> None:
    stalls = [_stall(35.0 * n, 5) for n in range(1, 30)]
    assert _after(stalls, 30) is None


def test_the_longest_stall_after_a_usual_one_waits_longer() -> None:
    # 2.5 s of the store are left from the first after 15 s; the longest adds 10.
    stalls = [_stall(5, 5), _stall(20, 10)]
    assert heat.stored_s(LIMITS, stalls, stalls[-1].at) == pytest.approx(12.5)
    # 12.5 + 5 − 10 = 7.5 s at 1/6 s a second: 45 s.
    assert _after(stalls, 44) is not None
    assert _after(stalls, 45.1) is None


def test_a_stall_of_a_clock_that_was_set_back_ended_just_now() -> None:
    late = _stall(3600.0, 5)
    assert heat.stored_s(LIMITS, [late], START) == pytest.approx(5.0)
    # The usual rest of 30 s, and not the hour that the clock is off.
    assert heat.refusal(LIMITS, [late], START, 50.0) == (
        "Wait 30 s more, unloaded: the last stalls' heat is not worked off yet."
    )


def test_hot_oil_stops_all() -> None:
    assert "80 °C" in (heat.refusal(LIMITS, [], START, 80.0) or "")
    assert heat.refusal(LIMITS, [], START, 79.9) is None


def test_the_coach_says_enough_at_once_when_settled() -> None:
    said = heat.call(LIMITS, 1.2, settled=True)
    assert said.let_go
    assert said.text == "Enough, let go."


@given(st.floats(0, 30), st.booleans())
def test_ten_seconds_are_never_passed_without_a_warning(over_s: float, settled: bool) -> None:
    said = heat.call(LIMITS, over_s, settled)
    assert said.let_go or over_s < LIMITS.never_s
    assert said.alarm or over_s < LIMITS.never_s
    assert settled or over_s < 8.0 or said.alarm
