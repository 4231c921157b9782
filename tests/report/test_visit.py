"""A whole visit on the simulated machine: three faults found, put right, read again, reported."""

from __future__ import annotations

import re
import sys
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import pytest

from gaugebench import cli
from gaugebench.analyse.verdict import Outcome
from gaugebench.desk.words import Speaker
from gaugebench.errors import JobError
from gaugebench.model.job import Phase
from gaugebench.procedure import asfound, closing, compare, jobfile, limiting
from gaugebench.procedure.judge import outcome
from gaugebench.procedure.limiting import Standing
from gaugebench.procedure.state import JobState, replay
from gaugebench.report import visit as visiting
from gaugebench.store.opening import open_trace

AT = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


def _run(*arguments: str | Path) -> int | str | None:
    """A command as it is typed; its exit status."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "argv", ["gaugebench", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
    return ended.value.code


@pytest.fixture(scope="module")
def visited(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a visit that was worked through by the command line alone."""
    folder = tmp_path_factory.mktemp("visit")
    assert _run("visit", "--out", folder) == 0
    return folder


@pytest.fixture(scope="module")
def state(visited: Path) -> JobState:
    found = jobfile.read(visited / "job.jsonl")
    assert found.faults == ()
    return replay(found.events)


def _locked(visited: Path) -> JobState:
    """The job as it stood when as-found was locked."""
    events = jobfile.read(visited / "job.jsonl").events
    end = next(n for n, e in enumerate(events) if e.kind == "as found locked")
    return replay(events[: end + 1])


def test_every_check_ends_as_the_truth_says(state: JobState) -> None:
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
    turns = Counter(t.event.screw for t in state.turns)
    assert set(turns) == {"relief 1", "cut-off 2", "port travel left a"}
    assert all(1 <= n <= 16 for n in turns.values())


def test_the_three_faults_and_no_other_are_shown(visited: Path, state: JobState) -> None:
    locked = _locked(visited)
    rows = limiting.table(locked)
    shown = [r.key for r in rows if r.standing is Standing.SHOWN]
    assert set(shown) == {"relief:1", "cut-off-over:2", "port:travel left"}
    # The job that is closed still knows what it was like as found.
    assert [r.key for r in limiting.table(asfound.as_found(state))] == [r.key for r in rows]


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


def test_its_traces_lie_beside_it(visited: Path, state: JobState) -> None:
    for added in state.traces:
        kept = open_trace(visited / added.trace)
        assert kept.simulated
        assert len(kept.series) >= 6


def test_the_reports_say_what_was_done(visited: Path) -> None:
    assert {p.suffix for p in visited.glob("report.*")} == {".pdf", ".html", ".xlsx"}
    text = (visited / "report.html").read_text("utf-8")
    for words in (
        "What that came of: Main relief 1 too low; Pump 2: cut-off stands above the relief",
        "Adjusted: Main relief 1",
        "Adjusted: Pump 2 cut-off",
        "Adjusted: Travel left, held",
        "SIMULATED",
    ):
        assert words in text
    # Two charts for each trace, and one for each check that moved.
    assert text.count("<svg") == 2 * 2 + 5


def test_the_report_can_be_written_again_from_the_job_alone(visited: Path) -> None:
    again = visited / "again.html"
    assert _run("report", visited / "job.jsonl", "--out", again) == 0
    first, second = ((visited / n).read_text("utf-8") for n in ("report.html", "again.html"))
    made = re.compile(r"made \d{4}-\d\d-\d\d \d\d:\d\d")
    assert made.sub("", first) == made.sub("", second)


def test_the_visit_is_reported_in_german(
    visited: Path, state: JobState, capsys: pytest.CaptureFixture[str]
) -> None:
    path = visited / "bericht.html"
    assert _run("report", visited / "job.jsonl", "--out", path, "--language", "de") == 0
    page = re.sub(r"<style>.*?</style>|<[^>]*>", " ", path.read_text("utf-8"), flags=re.DOTALL)
    for words in (
        "Woher das kam: Hauptdruckbegrenzung 1 zu niedrig; Pumpe 2: die Druckabschneidung steht",
        "Eingestellt: Pump 2 cut-off, von 342,5 ± 3,0 bar auf",
        "hinein um 1/4 Umdrehung (90°)",
        "SIMULIERT",
        "0,5 % vom Endwert",
    ):
        assert words in page
    assert not re.findall(r"\d\.\d", page)
    # No sentence that has its German stands there in English.
    german = Speaker("de").catalogue
    own = {check.title for check in state.sheet.check}
    sentences = {k for k, v in german.items() if k.count(" ") > 1 and "{" not in k and k != v}
    assert len(sentences) > 500
    assert not {k for k in sentences - own if k in page}
    capsys.readouterr()
    assert _run("report", visited / "job.jsonl", "--language", "fr") == 1
    assert capsys.readouterr().err == "A report is written in en or de, not in “fr”.\n"


def test_a_folder_with_a_job_is_left_alone(visited: Path) -> None:
    with pytest.raises(JobError, match="already"):
        visiting.visit(visited, AT)
