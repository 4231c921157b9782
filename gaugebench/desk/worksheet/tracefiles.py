"""The files of a job: where its record stands, and its traces beside it. No Qt."""

from __future__ import annotations

import filecmp
import re
import shutil
from datetime import datetime
from pathlib import Path

from gaugebench.errors import JobError


def make_folder(folder: Path) -> None:
    """See that the folder is there. Raises `JobError`."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise JobError(
            f"The folder {folder} for jobs cannot be made: {fault.strerror}; choose another."
        ) from fault


def job_path(folder: Path, words: str, at: datetime) -> Path:
    """A name for a job's file that is still free: its day and what it is called."""
    plain = re.sub(r"[^0-9A-Za-z]+", "-", words).strip("-").lower() or "job"
    stem = f"{at:%Y-%m-%d}-{plain}"
    found, number = folder / f"{stem}.jsonl", 1
    while found.exists():
        number += 1
        found = folder / f"{stem}-{number}.jsonl"
    return found


def keep_beside(path: Path, folder: Path) -> str:
    """The trace's name in the job's folder; copied there where it lies elsewhere.

    Raises `JobError` where it cannot be copied.
    """
    if path.resolve().parent == folder.resolve():
        return path.name
    target, number = folder / path.name, 1
    try:
        while target.exists() and not filecmp.cmp(path, target, shallow=False):
            number += 1
            target = folder / f"{number}-{path.name}"
        if not target.exists():
            shutil.copy2(path, target)
    except OSError as fault:
        raise JobError(
            f"The trace {path} cannot be copied to {folder}: {fault.strerror}; free some space."
        ) from fault
    return target.name
