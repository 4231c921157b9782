"""The jobs that are kept in a folder, read for looking back on them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from gaugebench.errors import JobError, SheetError
from gaugebench.procedure.jobfile import read
from gaugebench.procedure.state import JobState, replay


@dataclass(frozen=True, slots=True)
class Kept:
    """jobs: as they ended. left_out: files that are no whole job, each with why."""

    jobs: tuple[JobState, ...]
    left_out: tuple[str, ...]


def kept_in(folder: Path, go_on: Callable[[], bool] = lambda: True) -> Kept:
    """All jobs in a folder and below it; hidden files are passed over.

    go_on: asked before each file; where it says no, what was read so far is given. A job whose
    file is damaged in places counts as far as it could be read, and is named as well.
    """
    jobs: list[JobState] = []
    left_out: list[str] = []
    for path in sorted(folder.rglob("*.jsonl")):
        if path.name.startswith("."):
            continue
        if not go_on():
            break
        try:
            found = read(path)
            jobs.append(replay(found.events))
        except (JobError, SheetError) as fault:
            left_out.append(f"{path.name}: {fault}")
            continue
        left_out += [f"{path.name}: {sentence}" for sentence in found.faults]
    return Kept(tuple(jobs), tuple(left_out))
