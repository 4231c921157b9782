"""Names: a taken one gets a number, and a finished file takes its name without overwriting."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path

JOURNAL_SUFFIX = ".journal"
SPENT_SUFFIX = ".journal-done"
"""What a journal is called while it is being removed, after its trace was verified."""


def candidates(path: Path) -> Iterator[Path]:
    """`path`, then `NAME (2)`, `NAME (3)` … with the same ending."""
    yield path
    number = 2
    while True:
        yield path.with_name(f"{path.stem} ({number}){path.suffix}")
        number += 1


def free_name(path: Path, *, taken: Callable[[Path], bool] = Path.exists) -> Path:
    """The first of `candidates` that is not taken."""
    return next(name for name in candidates(path) if not taken(name))


def journal_of(trace: Path) -> Path:
    """The folder that holds the journal of a trace while it is recorded."""
    return trace.with_name(trace.stem + JOURNAL_SUFFIX)


def trace_of(journal: Path) -> Path:
    """The trace that a journal becomes."""
    return journal.with_name(journal.name.removesuffix(JOURNAL_SUFFIX) + ".h5")


def publish(temporary: Path, wanted: Path) -> Path:
    """Give a finished file its name, or the first numbered one that is free; the name it got.

    Never overwrites. Raises `OSError`.
    """
    for name in candidates(wanted):
        try:
            os.link(temporary, name)  # fails where the name is taken, in one step
        except FileExistsError:
            continue
        except OSError:
            # A memory stick (FAT) knows no links: hold the name with an empty file instead.
            try:
                name.touch(exist_ok=False)
            except FileExistsError:
                continue
            temporary.replace(name)
            return name
        temporary.unlink()
        return name
    raise AssertionError("the names never end")


def sync_folder(path: Path) -> None:
    """Wait until the names in a folder are on the disk itself."""
    if os.name == "nt":
        return  # Windows keeps folders safe by itself and cannot open them
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def sync_file(path: Path) -> None:
    """Wait until a file's content is on the disk itself."""
    descriptor = os.open(path, os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
