"""A travel run against what is true of it: running is no hold, gathering way may be a plateau."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from gaugebench.analyse.figures import analyse
from gaugebench.model.figures import Absent, Event, Figure, Limiter
from tests.analyse.conftest import read_labelled
from tests.analyse.test_live import feed, finals

SAMPLES = Path(__file__).parents[2] / "sample_traces"


def test_only_the_plateau_while_way_is_gathered_is_read() -> None:
    truth = json.loads((SAMPLES / "travel.truth.json").read_text(encoding="utf-8"))
    (wanted,), (found,) = (
        truth["loadings"],
        analyse(read_labelled(SAMPLES / "travel.csv.gz")).loadings,
    )
    assert found.end_s == pytest.approx(wanted["end_s"], abs=0.1)
    for pump, true in wanted["pumps"].items():
        figures = found.pumps[int(pump)]
        assert figures.limited_by.limiter is Limiter(true["limited_by"]) is Limiter.UNCLEAR
        assert isinstance(figures.relief_crack, Absent)
        assert isinstance(figures.settled, Figure)
        # The plateau slopes by 2 % a second.
        assert figures.settled.value == pytest.approx(true["settled_pa"], rel=0.01)
        assert isinstance(figures.destroke_onset, Event)
        assert figures.destroke_onset.time.value == pytest.approx(
            true["destroke_onset"]["time_s"], abs=0.015
        )


def test_actuators_that_run_free_are_no_loadings() -> None:
    assert analyse(read_labelled(SAMPLES / "no_load.csv.gz")).loadings == ()


@pytest.mark.parametrize("longest_s", [0.1, 2.0])
def test_a_run_that_comes_in_live_is_told_as_in_review(longest_s: float) -> None:
    trace = read_labelled(SAMPLES / "travel.csv.gz")
    rows = len(trace.series[0].times)
    whole = replace(trace, series=tuple(s for s in trace.series if len(s.times) == rows))
    live, _ = feed(whole, 3, longest_s)
    assert finals(live.marks) == finals(analyse(whole).marks)
