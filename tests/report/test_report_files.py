from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from gaugebench.errors import JobError
from gaugebench.model.job import JobEvent, Phase, TraceAdded
from gaugebench.procedure.jobfile import JobFile
from gaugebench.report.files import report_job


def job_file(path: Path, events: list[JobEvent]) -> Path:
    file = JobFile(path)
    file.append(events)
    file.close()
    return path


def test_a_missing_trace_is_told_and_the_report_is_made(
    tmp_path: Path, job_events: list[JobEvent]
) -> None:
    said: list[str] = []
    job = job_file(tmp_path / "visit.job", job_events)
    made = report_job(job, None, say=said.append)
    assert made == tmp_path / "visit.pdf"
    assert made.read_bytes().startswith(b"%PDF-")
    assert any(".h5" in sentence for sentence in said)


@pytest.mark.parametrize(
    "name", ["../other.h5", "/elsewhere/other.h5", "..\\other.h5", "C:other.h5"]
)
def test_a_trace_that_the_job_names_elsewhere_is_not_opened(
    tmp_path: Path, job_events: list[JobEvent], monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    opened: list[Path] = []
    monkeypatch.setattr("gaugebench.report.files.open_trace", opened.append)
    outside = TraceAdded(at=job_events[0].at, trace=name, phase=Phase.AS_FOUND)
    job = job_file(tmp_path / "visit.job", [job_events[0], outside])
    said: list[str] = []
    assert report_job(job, None, say=said.append).exists()
    assert opened == []
    assert said == [f"The trace “{name}” does not lie beside the job and is left out."]


def test_a_damaged_line_is_told_and_the_rest_is_reported(
    tmp_path: Path, job_events: list[JobEvent]
) -> None:
    job = job_file(tmp_path / "visit.job", job_events)
    lines = job.read_bytes().splitlines(keepends=True)
    lines[3] = lines[3].replace(b'"', b"'", 3)
    job.write_bytes(b"".join(lines))
    said: list[str] = []
    made = report_job(job, tmp_path / "visit.html", say=said.append)
    assert made.exists()
    assert any("Line 4" in sentence for sentence in said)


def test_what_is_no_job_is_one_sentence(tmp_path: Path) -> None:
    path = tmp_path / "empty.job"
    path.write_bytes(b"")
    with pytest.raises(JobError, match="holds no job"):
        report_job(path, None, say=lambda _: None)


def test_a_report_gets_the_rights_that_this_users_files_get(
    tmp_path: Path, job_events: list[JobEvent]
) -> None:
    job = job_file(tmp_path / "visit.job", job_events)
    before = os.umask(0o077)
    try:
        made = report_job(job, tmp_path / "visit.html", say=lambda _: None)
        assert stat.S_IMODE(made.stat().st_mode) == 0o600
        made.chmod(0o640)
        report_job(job, made, say=lambda _: None)
        assert stat.S_IMODE(made.stat().st_mode) == 0o640
    finally:
        os.umask(before)
    assert {p.suffix for p in tmp_path.iterdir()} <= {".job", ".html", ".lock"}
