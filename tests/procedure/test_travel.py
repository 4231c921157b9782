"""Straight travel, raised tracks, and the readings that walks and load points make."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from gaugebench.model.job import Heading, Value
from gaugebench.procedure import sheet, torque, travel
from gaugebench.procedure.judge import outcome


def _walk(job: Any, heading: str, mm: float, **more: Any) -> None:
    fields = {"speed": "low", "to": "left", "distance_m": 20.0, "phase": job.state.phase,
              "expanded_m": 0.02, **more}  # fmt: skip
    job.do("travel walked", heading=heading, deviation_m=mm / 1000, **fields)


def test_a_walk_is_brought_to_the_sheets_distance(job: Any) -> None:
    _walk(job, "forward", 200, distance_m=10.0)
    # 200 mm over 10 m are 400 mm over 20 m, past 300 mm.
    over = travel.over_limit(job.state, Heading.FORWARD)
    assert over.over is True
    assert over.words == "400 mm to the left"


def test_a_second_lever_does_not_count_against_the_limit(job: Any) -> None:
    _walk(job, "forward", 900, second_lever=True)
    assert travel.over_limit(job.state, Heading.FORWARD).over is None
    assert "second lever over" in travel.reading_words(job.state)[0]


def test_without_a_stated_limit_there_is_no_verdict(new_job: Callable[..., Any]) -> None:
    data = sheet.invented_data()
    del data["travel"]
    job = new_job(sheet=data)
    _walk(job, "forward", 900)
    _walk(job, "reverse", 900)
    assert travel.over_limit(job.state, Heading.FORWARD).over is None
    assert "state the limit" in travel.judgement(job.state)


@pytest.mark.parametrize(
    ("reverse", "word"), [(700, "mechanics"), (50, "oil"), (None, "reverse: not walked")]
)
def test_both_ways_mechanical_one_way_hydraulic(job: Any, reverse: float | None, word: str) -> None:
    _walk(job, "forward", 650)
    if reverse is not None:
        _walk(job, "reverse", reverse)
    assert word in travel.judgement(job.state)


@pytest.mark.parametrize(
    ("expanded", "missing"), [(None, "uncertainty is not known"), (0.4, "too near to the limit")]
)
def test_a_walk_that_does_not_tell_gives_no_cause(
    job: Any, expanded: float | None, missing: str
) -> None:
    for heading in ("forward", "reverse"):
        _walk(job, heading, 650, expanded_m=expanded)
    assert travel.over_limit(job.state, Heading.FORWARD).over is None
    assert missing in travel.judgement(job.state)
    found = travel.reading(job.state, "straight-travel", job.now)
    assert found is not None
    job.sheet.take(found)
    assert str(outcome(job.state, "straight-travel", job.state.phase)) == "cannot tell"


def test_low_and_high_speed_are_judged_apart(job: Any) -> None:
    for speed, reverse in (("low", 40), ("high", 700)):
        _walk(job, "forward", 650, speed=speed)
        _walk(job, "reverse", reverse, speed=speed)
    low, high = travel.judgements(job.state)
    assert low.startswith("low: It leaves the line one way only")
    assert high.startswith("high: It leaves the line both ways")


def test_a_walk_entered_by_mistake_is_struck_out_and_stays_in_the_list(job: Any) -> None:
    _walk(job, "forward", 6500)
    _walk(job, "forward", 65)
    strike = {"of": "travel walked", "number": 0}
    assert "Say why" in job.refused("entry struck", why=" ", **strike)
    job.do("entry struck", why="a nought too many", **strike)
    (left,) = job.state.walks
    assert left.deviation_m == pytest.approx(0.065)
    assert [e.kind for e in job.sheet.events[-3:]] == ["travel walked"] * 2 + ["entry struck"]
    again = {"of": "travel walked", "number": 1}
    assert "no such entry" in job.refused("entry struck", why="x", **again)


def test_the_walks_make_a_reading(job: Any) -> None:
    assert travel.reading(job.state, "straight-travel", job.now) is None
    _walk(job, "forward", 120)
    _walk(job, "reverse", 180)
    found = travel.reading(job.state, "straight-travel", job.now)
    assert found is not None
    job.sheet.take(found)
    assert found.value.value == pytest.approx(0.18)
    assert str(outcome(job.state, "straight-travel", job.state.phase)) == "pass"


@pytest.mark.parametrize(("left", "word"), [(30.0, "even"), (33.0, "apart"), (31.5, "cannot tell")])
def test_raised_tracks_left_against_right(job: Any, left: float, word: str) -> None:
    for side, seconds in (("left", left), ("right", 30.0)):
        value = Value(value=seconds, unit="s", expanded=0.3)
        job.do("track timed", phase="as found", side=side, heading="forward", speed="high",
               turns=10, seconds=value)  # fmt: skip
    (line,) = travel.track_words(job.state)
    assert line.endswith(f"{word}.")
    assert "common practice" in line


def test_tracks_without_an_uncertainty_get_no_verdict(job: Any) -> None:
    for side, seconds in (("left", 40.0), ("right", 30.0)):
        job.do("track timed", phase="as found", side=side, heading="forward", speed="high",
               turns=10, seconds=Value(value=seconds, unit="s"))  # fmt: skip
    (line,) = travel.track_words(job.state)
    assert "28.6 % (uncertainty not known) apart" in line
    assert line.endswith("cannot tell.")


def test_one_track_alone_is_compared_with_nothing(job: Any) -> None:
    value = Value(value=30.0, unit="s", expanded=0.3)
    job.do("track timed", phase="as found", side="left", heading="forward", speed="high",
           turns=10, seconds=value)  # fmt: skip
    assert travel.track_words(job.state) == ()


def test_load_points_make_a_reading_only_where_they_count(job: Any) -> None:
    fields = {"unloaded_rpm": 2036.0, "held_s": 3.0}
    rpm = Value(value=1950.0, unit="rpm", expanded=5.0)
    job.do("load point", main_pa=(325e5, 325e5), rpm=rpm, moving=False, **fields)
    assert torque.reading(job.state, "speed-drop", job.now) is None
    job.do("load point", main_pa=(204e5, 206e5), rpm=rpm, moving=True, **fields)
    found = torque.reading(job.state, "speed-drop", job.now)
    assert found is not None
    job.sheet.take(found)
    assert found.value.value == pytest.approx(86.0)
