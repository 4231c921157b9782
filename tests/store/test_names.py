"""A finished file takes its name in one step and never another file's, on any kind of disk."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from gaugebench.store import names


def _refused(one: object, two: object) -> None:
    raise OSError(errno.EPERM, os.strerror(errno.EPERM))


@pytest.fixture(params=["links", "no links"])
def folder(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """With links, or as a memory stick refuses them."""
    if request.param == "no links":
        monkeypatch.setattr(os, "link", _refused)
    return tmp_path


def test_a_free_name_is_taken_and_a_taken_one_is_left_alone(folder: Path) -> None:
    for number, name in enumerate(("visit.h5", "visit (2).h5", "visit (3).h5")):
        part = folder / ".part"
        part.write_text(str(number), encoding="utf-8")
        assert names.publish(part, folder / "visit.h5") == folder / name
    assert {p.name: p.read_text(encoding="utf-8") for p in folder.iterdir()} == {
        "visit.h5": "0",
        "visit (2).h5": "1",
        "visit (3).h5": "2",
    }


def test_a_folder_that_is_gone_is_told_and_the_file_stays(folder: Path) -> None:
    part = folder / ".part"
    part.write_text("all of it", encoding="utf-8")
    with pytest.raises(OSError):  # noqa: PT011 - whichever the system gives
        names.publish(part, folder / "gone" / "visit.h5")
    assert part.read_text(encoding="utf-8") == "all of it"


def test_a_journal_and_its_trace_are_named_after_each_other() -> None:
    trace = Path("/records/visit 2.1 left.h5")
    assert names.journal_of(trace) == Path("/records/visit 2.1 left.journal")
    assert names.trace_of(names.journal_of(trace)) == trace
    taken = {"a.h5", "a (2).h5"}
    assert names.free_name(Path("a.h5"), taken=lambda p: p.name in taken) == Path("a (3).h5")
