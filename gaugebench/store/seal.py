"""Sealing: a journal becomes a trace file, is compared with it, and only then goes."""

from __future__ import annotations

import shutil
from contextlib import suppress
from pathlib import Path

from gaugebench.errors import RecordError, TraceError
from gaugebench.store.compare import compare
from gaugebench.store.names import SPENT_SUFFIX, publish, sync_file, sync_folder
from gaugebench.store.reading import JournalReader
from gaugebench.store.replay import Replay
from gaugebench.store.tracewriter import TraceWriter

PART_SUFFIX = ".part"


def seal(journal: Path, wanted: Path) -> Path:
    """Make the trace of a journal and remove the journal; the path it got.

    The caller holds the journal's lock. Interrupted anywhere, the journal or the verified trace
    is there and sealing can be started again. Raises `RecordError`; the journal then stays.
    """
    part = journal.with_name(f".{journal.name}{PART_SUFFIX}")
    try:
        part.unlink(missing_ok=True)  # of a sealing that was interrupted
        reader = JournalReader(journal)
        build(reader, part)
        different = compare(reader, part)
        if different is not None:
            raise RecordError(
                f"The trace made from {journal} differs from it ({different}); the record stays "
                "in that folder, so copy it to another disk and finish it there."
            )
        sync_file(part)
        path = publish(part, wanted)
        sync_folder(path.parent)
        remove_journal(journal)
    except OSError as fault:
        with suppress(OSError):
            part.unlink(missing_ok=True)  # half a trace only takes up room
        raise RecordError(
            f"The trace {wanted.name} cannot be written: {fault.strerror or fault}; the record is "
            f"safe in {journal}: put the disk right and finish it with “gaugebench recover”."
        ) from fault
    except TraceError as fault:
        raise RecordError(str(fault)) from fault
    return path


def build(reader: JournalReader, part: Path) -> None:
    """Write everything a journal holds into a new trace file. Raises `OSError`."""
    replay = Replay(reader)
    with TraceWriter(part, replay.specs) as writer:
        for rows in replay.rows():
            writer.append(rows.stream, rows.times, rows.raw, rows.values, rows.quality)
        writer.finish(replay.head(), replay.annexe())


def remove_journal(journal: Path) -> None:
    """Remove a journal whose trace was verified. Raises `OSError`.

    It is renamed first, so that a removal that is cut short leaves nothing that looks like a
    record to finish.
    """
    spent = journal.with_suffix(SPENT_SUFFIX)
    if spent.exists():
        shutil.rmtree(spent)
    journal.replace(spent)
    shutil.rmtree(spent)
