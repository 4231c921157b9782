"""A whole visit on the simulated machine: three faults found, put right, read again, reported."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from gaugebench.analyse.verdict import Outcome
from gaugebench.errors import JobError
from gaugebench.model.job import Phase
from gaugebench.procedure import closing, compare, jobfile, limiting
from gaugebench.procedure.judge import outcome
from gaugebench.procedure.limiting import Standing
from gaugebench.procedure.state import JobState, replay
from gaugebench.report import visit as visiting
from gaugebench.store.opening import open_trace

AT = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def visited(tmp_path_factory: pytest.TempPathFactory) -> visiting.Visited:
    return visiting.visit(tmp_path_factory.mktemp("visit"), AT)


@pytest.fixture(scope="module")
def state(visited: visiting.Visited) -> JobState:
    return visited.sheet.state


def _locked(visited: visiting.Visited) -> JobState:
    """The job as it stood when as-found was locked."""
    events = jobfile.read(visited.job).events
    end = next(n for n, e in enumerate(events) if e.kind == "as found locked")
    return replay(events[: end + 1])


def test_every_check_ends_as_the_truth_says(visited: visiting.Visited, state: JobState) -> None:
    # The truth is how the machine was made sick (`visit.sick`), and that it was then put right.
    found = {
        "pilot-low": Outcome.PASS,
        "pilot-high": Outcome.PASS,
        "control-1-neutral": Outcome.PASS,
        "control-2-neutral": Outcome.PASS,
        "main-relief-1": Outcome.FAIL,
        "main-relief-2": Outcome.PASS,
        "pump1-cut-off": Outcome.FAIL,  # it stands above its relief while that is low
        "pump2-cut-off": Outcome.FAIL,
        "swing-relief": Outcome.PASS,
        "travel-left-held": Outcome.FAIL,
        "travel-right-held": Outcome.FAIL,  # behind main relief 1
    }
    for key, verdict in found.items():
        assert outcome(state, key, Phase.AS_FOUND) is verdict, key
    for key in visiting.LEFT.values():
        assert outcome(state, key, Phase.AS_LEFT) is Outcome.PASS, key
    assert set(visited.turns) == {"relief 1", "cut-off 2", "port travel left a"}
    assert all(1 <= n <= 16 for n in visited.turns.values())


def test_the_three_faults_and_no_other_are_shown(visited: visiting.Visited) -> None:
    rows = limiting.table(_locked(visited))
    shown = [r.key for r in rows if r.standing is Standing.SHOWN]
    assert set(shown) == {"relief:1", "cut-off-over:2", "port:travel left"}


def test_it_was_closed_with_nothing_left_open(state: JobState) -> None:
    assert state.closed is not None
    assert state.open_changes == ()
    assert state.offers == {}
    assert closing.blocks(state) == ()
    assert len(state.stalls) == 8 + 5


def test_as_found_and_as_left_can_be_laid_side_by_side(state: JobState) -> None:
    rows = {p.check: p for p in compare.pairs(state)}
    assert rows["main-relief-1"].found.trace == "as-found.h5"
    assert rows["main-relief-1"].left.trace == "as-left.h5"
    assert rows["main-relief-1"].change.value > 30e5


def test_what_is_on_disk_is_all_of_it(visited: visiting.Visited, state: JobState) -> None:
    found = jobfile.read(visited.job)
    assert found.faults == ()
    assert replay(found.events) == state
    for name, trace in visited.traces.items():
        kept = open_trace(visited.job.parent / name)
        assert kept.simulated
        assert len(kept.series) == len(trace.series)


def test_the_reports_say_what_was_done(visited: visiting.Visited) -> None:
    assert [p.suffix for p in visited.reports] == [".pdf", ".html", ".xlsx"]
    text = visited.reports[1].read_text("utf-8")
    for words in (
        "Adjusted: Main relief 1",
        "Adjusted: Pump 2 cut-off",
        "Adjusted: Travel left, held",
        "SIMULATED",
    ):
        assert words in text
    assert text.count("<svg") == 4


def test_a_folder_with_a_job_is_left_alone(visited: visiting.Visited) -> None:
    with pytest.raises(JobError, match="already"):
        visiting.visit(visited.job.parent, AT)
