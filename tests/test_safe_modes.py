"""What names customers is made so that other users of the computer cannot read it."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest

from gaugebench import diagnostics
from gaugebench.desk.kitlink import make_folder
from gaugebench.store.book.book import Book


@pytest.fixture(autouse=True)
def open_umask() -> Iterator[None]:
    """A user whose files others may read, as on most systems."""
    before = os.umask(0o022)
    yield
    os.umask(before)


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_the_desks_new_folder_for_records_is_its_owners(tmp_path: Path) -> None:
    make_folder(tmp_path / "Gaugebench")
    assert mode(tmp_path / "Gaugebench") == 0o700


def test_a_folder_that_was_there_keeps_its_rights(tmp_path: Path) -> None:
    folder = tmp_path / "shared"
    folder.mkdir()
    make_folder(folder)
    assert mode(folder) == 0o755


def test_the_job_books_folder_is_its_owners(tmp_path: Path) -> None:
    with Book(tmp_path / "gaugebench" / "book.sqlite"):
        assert mode(tmp_path / "gaugebench") == 0o700


def test_the_log_to_send_is_its_owners(tmp_path: Path) -> None:
    assert mode(diagnostics.gather(tmp_path / "log.txt", tmp_path / "none")) == 0o600
