"""Who holds a journal: one program at a time, and the next one is told which."""

from __future__ import annotations

import json
import os
import platform
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from filelock import FileLock, Timeout

from gaugebench.errors import RecordError

_LOCK = "lock"
_HOLDER = "holder.json"


class JournalLock:
    """Held from construction until `release`, or until the program ends in any way.

    The lock is the operating system's, so that a crash leaves none behind; who holds it is
    written beside it. Raises `RecordError` naming the holder.
    """

    def __init__(self, folder: Path) -> None:
        self._lock = FileLock(folder / _LOCK, thread_local=False)
        try:
            self._lock.acquire(timeout=0)
        except Timeout as fault:
            raise RecordError(
                f"The record in {folder} is held by {holder(folder)}; stop it there first."
            ) from fault
        except OSError as fault:
            raise RecordError(
                f"The record in {folder} cannot be held: {fault.strerror}; choose a folder that "
                "this program may write to."
            ) from fault
        told = {
            "process": os.getpid(),
            "computer": platform.node(),
            "since": datetime.now().astimezone().isoformat(timespec="seconds"),
        }
        with suppress(OSError):  # only a courtesy to the next one; the lock stands without it
            (folder / _HOLDER).write_text(json.dumps(told), encoding="utf-8")

    def release(self) -> None:
        """Let the next one have it. May be called twice."""
        self._lock.release()


def holder(folder: Path) -> str:
    """Who wrote last that it holds the journal, in words."""
    try:
        told = json.loads((folder / _HOLDER).read_text(encoding="utf-8"))
        return f"process {told['process']} on {told['computer']} since {told['since']}"
    except (OSError, ValueError, KeyError, TypeError):
        return "another program"


def is_held(folder: Path) -> bool:
    """Whether some program holds the journal at this moment."""
    probe = FileLock(folder / _LOCK, thread_local=False)
    try:
        probe.acquire(timeout=0)
    except Timeout:
        return True
    except OSError:
        return False  # a read-only folder: nobody can be writing in it
    probe.release()
    return False
