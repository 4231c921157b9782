"""The worksheet's file: one event a line, in JSON, each line with a checksum of its own.

A line is put on disk before the event counts, so a crash loses nothing that was shown. A line cut
short by a crash is left out when the file is read, and named; a line that was damaged later is
named as well and the rest is kept.
"""

from __future__ import annotations

import os
import re
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from gaugebench.errors import JobError
from gaugebench.model.job import EVENT, JobEvent
from gaugebench.store.lock import Hold

_LINE = re.compile(rb'^\{"sum":"([0-9a-f]{8})",(.*)\}$', re.DOTALL)


@dataclass(frozen=True, slots=True)
class Replay:
    """The events of a file, in order, and what could not be read of it, each a sentence."""

    events: tuple[JobEvent, ...]
    faults: tuple[str, ...] = ()


def encode(number: int, event: JobEvent) -> bytes:
    """The event as a line. `number`: its place in the job, from 0."""
    body = b'"n":%d,"event":%b' % (number, EVENT.dump_json(event))
    return b'{"sum":"%08x",%b}\n' % (zlib.crc32(body), body)


def decode(data: bytes) -> Replay:
    """The events in a file's bytes; whatever is damaged is named and left out."""
    events: list[JobEvent] = []
    faults: list[str] = []
    lines = data.split(b"\n")
    last = lines.pop()
    if last:
        lines.append(last)  # whole if its checksum says so: only its end of line is missing
    for number, line in enumerate(lines, 1):
        match = _LINE.match(line)
        if match is None or zlib.crc32(match[2]) != int(match[1], 16):
            what = "was cut short" if line is last else "is damaged"
            faults.append(f"Line {number} {what} and is left out; enter its step again.")
            continue
        place, _, event = match[2].partition(b',"event":')
        if place != b'"n":%d' % (number - 1):
            faults.append(f"Line {number} is not the event that should stand there.")
        try:
            events.append(EVENT.validate_json(event))
        except ValidationError as fault:
            where = ".".join(str(part) for part in fault.errors()[0]["loc"])
            faults.append(f"Line {number} holds an event that this version does not know: {where}.")
    return Replay(tuple(events), tuple(faults))


def read(path: Path) -> Replay:
    """The events of a job's file. Raises `JobError` where it cannot be read or holds no job."""
    try:
        replay = decode(path.read_bytes())
    except OSError as fault:
        raise JobError(f"The job {path} cannot be read: {fault.strerror}.") from fault
    if not replay.events:
        raise JobError(f"The file {path} holds no job.")
    return replay


class JobFile:
    """A job's file, open for appending, held against every other program; close it when done.

    Raises `JobError` where another program holds it, which is named, and where the disk refuses:
    then the event does not count.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._count = 0
        self._torn = False
        lock, told = (path.with_name(f".{path.name}.{end}") for end in ("lock", "holder"))
        self._hold = Hold(f"The job {path}", lock, told, JobError)
        try:
            self._mend(path)
            # Unbuffered, so that what is not on its way to the disk is not held here either.
            self._file = path.open("ab", buffering=0)
        except OSError as fault:
            self._hold.release()
            raise JobError(f"The job {path} cannot be written: {fault.strerror}.") from fault

    def _mend(self, path: Path) -> None:
        """Count the lines; end a cut line, so that the next one begins a line of its own."""
        data = path.read_bytes() if path.exists() else b""
        if data and not data.endswith(b"\n"):
            with path.open("ab") as file:
                file.write(b"\n")
                os.fsync(file.fileno())
        self._count = len(data.splitlines())

    def append(self, events: Iterable[JobEvent]) -> None:
        """Put events on disk, and return once they are there."""
        for event in events:
            if self._torn:
                self._write(b"\n")  # what was written in part stands on a line of its own
                self._count += 1
                self._torn = False
            self._torn = True
            self._write(encode(self._count, event))
            self._torn = False
            self._count += 1

    def _write(self, line: bytes) -> None:
        try:
            written = self._file.write(line)
            os.fsync(self._file.fileno())
        except OSError as fault:
            raise JobError(
                f"The job {self.path} could not be written: {fault.strerror}; free some space or "
                "choose another place, then enter the last step again."
            ) from fault
        if written != len(line):
            raise JobError(
                f"The job {self.path} was written only in part; free some space, then enter the "
                "last step again."
            )

    def close(self) -> None:
        """Close the file and let go of it. May be called twice."""
        self._file.close()
        self._hold.told.unlink(missing_ok=True)
        self._hold.release()
