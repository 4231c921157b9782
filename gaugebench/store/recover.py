"""Left-over journals: found, described, and finished."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from gaugebench.errors import RecordError, TraceError
from gaugebench.model.block import Block
from gaugebench.store.compare import compare
from gaugebench.store.lock import JournalLock, holder, is_held
from gaugebench.store.names import JOURNAL_SUFFIX, SPENT_SUFFIX, candidates, trace_of
from gaugebench.store.reading import JournalReader
from gaugebench.store.seal import remove_journal, seal
from gaugebench.store.tracefile import TraceFile


@dataclass(frozen=True, slots=True)
class Leftover:
    """A record that was never finished.

    samples: by the numbers that its rows carry, damaged stretches included. held_by: who writes it
    at this moment, or None. trouble: why it cannot be finished, or None.
    """

    folder: Path
    machine: str = ""
    started: datetime | None = None
    seconds: float = 0.0
    samples: int = 0
    held_by: str | None = None
    trouble: str | None = None

    def __str__(self) -> str:
        """One line for a person."""
        if self.trouble is not None:
            return f"{self.folder.name}: {self.trouble}"
        when = f"{self.started:%Y-%m-%d %H:%M:%S}" if self.started else "time unknown"
        held = f", being written by {self.held_by}" if self.held_by else ""
        what = self.machine or "machine not named"
        return f"{self.folder.name}: {what}, {when}, {self.seconds:.0f} s{held}"


def find(folder: Path) -> tuple[Leftover, ...]:
    """The unfinished records in a folder, or the one that the folder is.

    Those that another program is writing at this moment are told with who holds them.
    """
    if folder.name.endswith(JOURNAL_SUFFIX):
        return (_look(folder),)
    _clear_spent(folder)
    return tuple(_look(f) for f in sorted(folder.glob(f"*{JOURNAL_SUFFIX}")) if f.is_dir())


def recover(leftover: Leftover | Path) -> Path:
    """Finish a record: the trace file it became. Raises `RecordError`, `TraceError`.

    Where its trace was already made and is whole, only the journal is removed.
    """
    journal = leftover if isinstance(leftover, Path) else leftover.folder
    if not journal.is_dir():
        raise RecordError(f"There is no unfinished record at {journal}.")
    lock = JournalLock(journal)
    try:
        made = _already_made(journal)
        if made is None:
            return seal(journal, trace_of(journal))
        remove_journal(journal)
        return made
    finally:
        lock.release()


def _look(folder: Path) -> Leftover:
    held_by = holder(folder) if is_held(folder) else None
    try:
        reader = JournalReader(folder, ends_only=True)
        first, last = float("inf"), float("-inf")
        rows: dict[int, tuple[int, int]] = {}
        for event in reader.events():
            if isinstance(event, Block) and len(event):
                first, last = min(first, event.times[0]), max(last, event.times[-1])
                begin, end = rows.get(event.stream, (event.first, event.first))
                rows[event.stream] = (min(begin, event.first), max(end, event.first + len(event)))
    except TraceError as fault:
        return Leftover(folder, held_by=held_by, trouble=str(fault))
    setup = reader.setup
    samples = sum(
        (end - begin) * len(setup.streams[stream].channels)
        for stream, (begin, end) in rows.items()
        if stream < len(setup.streams)
    )
    machine = " ".join(filter(None, (setup.particulars.machine, setup.particulars.serial)))
    return Leftover(folder, machine, setup.started, max(0.0, last - first), samples, held_by)


def _already_made(journal: Path) -> Path | None:
    """The trace that was made of this journal, where sealing was cut short after naming it."""
    reader = JournalReader(journal)
    for path in candidates(trace_of(journal)):
        if not path.exists():
            return None
        try:
            if TraceFile(path).annexe.journal_id != reader.journal_id:
                continue
            if compare(reader, path) is None:
                return path
        except (TraceError, OSError):
            continue  # whatever stands there is not the trace of this journal
    return None


def _clear_spent(folder: Path) -> None:
    """Finish removing journals whose traces were verified before their removal was cut short."""
    for spent in folder.glob(f"*{SPENT_SUFFIX}"):
        if spent.is_dir():
            shutil.rmtree(spent, ignore_errors=True)  # tried again at the next look
