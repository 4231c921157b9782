"""The worksheet's file comes back from wherever it was cut."""

from __future__ import annotations

import errno
import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaugebench.errors import JobError
from gaugebench.model.job import Phase
from gaugebench.procedure import jobfile
from gaugebench.procedure.worksheet import Worksheet


@pytest.fixture(scope="module")
def lines(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    from datetime import UTC, datetime

    from gaugebench.model.job import JobOpened, NoteAdded
    from gaugebench.procedure import sheet

    at = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
    path = tmp_path_factory.mktemp("job") / "a.job"
    work = Worksheet.begin(JobOpened(at=at, job="J", sheet=sheet.invented_data()), path)
    for n in range(6):
        work.take(NoteAdded(at=at, text=f"note {n}, with “quotes” and\na line"))
    work.close()
    return path.read_bytes()


def test_what_was_taken_is_there_after_a_crash(tmp_path: Path, new_job: Callable[..., Any]) -> None:
    path = tmp_path / "j.job"
    job = new_job(path=path)
    job.ready()
    job.read("control-1-neutral", 31.0)
    # No close: the process is gone. What is on disk is all that was taken.
    left = tmp_path / "left.job"
    left.write_bytes(path.read_bytes())
    again = Worksheet.resume(left)
    assert again.state == job.state
    assert again.faults == ()
    assert again.state.reading("control-1-neutral", Phase.AS_FOUND) is not None
    again.close()
    job.sheet.close()


def _ends(lines: bytes) -> list[int]:
    return [n for n, byte in enumerate(lines) if byte == ord("\n")]


def test_every_line_is_json_by_itself(lines: bytes) -> None:
    rows = [json.loads(line) for line in lines.decode().splitlines()]
    assert [row["n"] for row in rows] == list(range(7))
    assert rows[0]["event"]["kind"] == "job opened"


@given(cut=st.integers(0, 10_000))
def test_cut_anywhere_every_whole_line_comes_back(lines: bytes, cut: int) -> None:
    data = lines[: min(cut, len(lines))]
    found = jobfile.decode(data)
    # A line without its end of line is whole all the same.
    whole = sum(len(data) >= len(lines[: end + 1]) - 1 for end in _ends(lines))
    assert len(found.events) == whole
    assert bool(found.faults) == (len(data.splitlines()) != whole)


@given(at=st.integers(0, 10_000), value=st.integers(0, 255))
@settings(max_examples=200)
def test_an_overwritten_byte_never_passes_for_good(lines: bytes, at: int, value: int) -> None:
    at %= len(lines)
    data = lines[:at] + bytes([value]) + lines[at + 1 :]
    whole = jobfile.decode(lines).events
    found = jobfile.decode(data)
    assert all(event in whole for event in found.events)
    assert data == lines or found.faults


@pytest.mark.parametrize("cut", [2, 40])
def test_a_cut_line_is_mended_and_the_job_goes_on(tmp_path: Path, lines: bytes, cut: int) -> None:
    from gaugebench.model.job import NoteAdded

    path = tmp_path / "j.job"
    path.write_bytes(lines[:-cut])
    work = Worksheet.resume(path)
    assert len(work.events) == 6
    assert "cut short" in work.faults[0]
    work.take(NoteAdded(at=work.events[0].at, text="after"))
    work.close()
    again = Worksheet.resume(path)
    assert len(again.events) == 7
    assert again.events == work.events
    assert len(again.faults) == 1, "the line that was cut stays named"
    again.close()


def test_a_full_disk_is_told_and_the_event_does_not_count(
    tmp_path: Path, new_job: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    job = new_job(path=tmp_path / "j.job")

    def full(number: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", full)
        with pytest.raises(JobError, match="free some space"):
            job.do("note", text="lost")
    assert job.state.notes == ()
    job.do("note", text="kept")
    job.sheet.close()
    again = Worksheet.resume(tmp_path / "j.job")
    assert again.state.notes[-1].text == "kept"
    again.close()


def test_two_jobs_never_share_a_file(tmp_path: Path, new_job: Callable[..., Any]) -> None:
    path = tmp_path / "j.job"
    new_job(path=path).sheet.close()
    with pytest.raises(JobError, match="already"):
        new_job(path=path)


def test_what_is_no_job_is_told(tmp_path: Path) -> None:
    path = tmp_path / "x.job"
    with pytest.raises(JobError, match="cannot be read"):
        jobfile.read(path)
    path.write_bytes(b"not a job\n")
    with pytest.raises(JobError, match="no job"):
        jobfile.read(path)


def test_a_job_is_open_in_one_program_and_the_next_is_told_which(
    tmp_path: Path, new_job: Callable[..., Any]
) -> None:
    path = tmp_path / "j.job"
    job = new_job(path=path)
    with pytest.raises(JobError, match=rf"j\.job is held by process {os.getpid()} on "):
        Worksheet.resume(path)
    job.sheet.close()
    again = Worksheet.resume(path)
    assert again.state == job.state
    again.close()
    again.close()
