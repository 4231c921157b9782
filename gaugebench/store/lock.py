"""Who holds a file or folder: one program at a time, and the next one is told which."""

from __future__ import annotations

import json
import os
import platform
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from filelock import FileLock, Timeout

from gaugebench.errors import GaugebenchError, RecordError

_LOCK = "lock"
_HOLDER = "holder.json"


class Hold:
    """Held from construction until `release`, or until the program ends in any way.

    The lock is the operating system's, so that a crash leaves none behind; who holds it is
    written beside it. Raises `error` with a sentence that names the holder.
    """

    def __init__(self, what: str, lock: Path, told: Path, error: type[GaugebenchError]) -> None:
        """what: begins the sentence, for example `The record in /records`."""
        self.told = told
        self._lock = FileLock(lock, thread_local=False)
        try:
            self._lock.acquire(timeout=0)
        except Timeout as fault:
            raise error(f"{what} is held by {_holder(told)}; stop it there first.") from fault
        except OSError as fault:
            raise error(
                f"{what} cannot be held: {fault.strerror}; choose a folder that this program may "
                "write to."
            ) from fault
        about = {
            "process": os.getpid(),
            "computer": platform.node(),
            "since": datetime.now().astimezone().isoformat(timespec="seconds"),
        }
        with suppress(OSError):  # only a courtesy to the next one; the lock stands without it
            told.write_text(json.dumps(about), encoding="utf-8")

    def release(self) -> None:
        """Let the next one have it. May be called twice."""
        self._lock.release()


class JournalLock(Hold):
    """The hold on a journal's folder. Raises `RecordError`."""

    def __init__(self, folder: Path) -> None:
        super().__init__(f"The record in {folder}", folder / _LOCK, folder / _HOLDER, RecordError)


def holder(folder: Path) -> str:
    """Who wrote last that it holds the journal, in words."""
    return _holder(folder / _HOLDER)


def _holder(told: Path) -> str:
    try:
        about = json.loads(told.read_text(encoding="utf-8"))
        return f"process {about['process']} on {about['computer']} since {about['since']}"
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
