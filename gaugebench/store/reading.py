"""Reading a journal back, whatever happened to it."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from gaugebench.errors import TraceError
from gaugebench.model.event import Event, Setup
from gaugebench.store.frames import Frame, Kind, scan
from gaugebench.store.journal import SEGMENT_PATTERN, SETUP_FILE
from gaugebench.store.payload import PayloadError, decode, decode_setup

_SECTOR = 4096


@dataclass(slots=True)
class Damage:
    """What reading a journal met. frames_lost: sequence numbers that never came back.

    ended: whether the record was stopped properly. unknown: whole frames that a newer version
    wrote and this one cannot read. foreign: whole frames of another journal.
    """

    frames_lost: int = 0
    ended: bool = False
    unknown: int = 0
    foreign: int = 0
    sectors_lost: int = 0


class JournalReader:
    """A journal folder, read in order of sequence.

    Memory is bounded by the size of a segment (and what a failing disk made it repeat).
    """

    def __init__(self, folder: Path, *, ends_only: bool = False) -> None:
        """Find the setup. Raises `TraceError` where no copy of it is whole.

        ends_only: read the first and the last segment alone, for a quick look at a long record.
        """
        self.folder = folder
        self.damage = Damage()
        self._segments = sorted(folder.glob(SEGMENT_PATTERN))
        if ends_only and len(self._segments) > 2:
            self._segments = [self._segments[0], self._segments[-1]]
        self._id, self.setup = self._find_setup()

    @property
    def journal_id(self) -> str:
        """The id in every frame, as hexadecimal text."""
        return self._id.hex()

    def events(self) -> Iterator[Event]:
        """Every event that is whole, each once; `damage` is complete when this ends."""
        self.damage = damage = Damage()
        expected = 0
        for frame in self._in_order():
            damage.frames_lost += frame.sequence - expected
            expected = frame.sequence + 1
            if frame.kind == Kind.END:
                damage.ended = True
                continue
            try:
                yield decode(frame.kind, frame.payload)
            except PayloadError:
                damage.unknown += 1

    def _in_order(self) -> Iterator[Frame]:
        waiting: dict[int, Frame] = {}
        done = -1
        for segment in self._segments:
            found = [f for f in scan(self._read(segment)) if self._is_ours(f)]
            if not found:
                continue
            first = min(f.sequence for f in found)
            for sequence in sorted(s for s in waiting if s < first):
                done = sequence
                yield waiting.pop(sequence)
            for frame in found:
                if frame.sequence > done:
                    waiting.setdefault(frame.sequence, frame)
        for sequence in sorted(waiting):
            yield waiting[sequence]

    def _is_ours(self, frame: Frame) -> bool:
        if frame.journal != self._id:
            self.damage.foreign += 1
            return False
        return frame.kind != Kind.SETUP

    def _find_setup(self) -> tuple[bytes, Setup]:
        for path in (self.folder / SETUP_FILE, *self._segments):
            if not path.is_file():
                continue
            for frame in scan(self._read(path)):
                if frame.kind == Kind.SETUP:
                    try:
                        return frame.journal, decode_setup(frame.payload)
                    except PayloadError as fault:
                        raise TraceError(
                            f"The record in {self.folder} was made by another version of the "
                            f"program, whose setup this one cannot read ({fault})."
                        ) from fault
        raise TraceError(
            f"{self.folder} is not a record that can be finished: it holds no whole description "
            "of the kit."
        )

    def _read(self, path: Path) -> bytes:
        """A file's bytes; sectors that the disk cannot read come back as zeros."""
        try:
            return path.read_bytes()
        except OSError as fault:
            if fault.errno != errno.EIO:
                raise TraceError(f"{path} cannot be read: {fault.strerror}.") from fault
        pieces: list[bytes] = []
        size = path.stat().st_size
        with path.open("rb", buffering=0) as file:
            for at in range(0, size, _SECTOR):
                file.seek(at)
                try:
                    pieces.append(file.read(_SECTOR))
                except OSError:
                    self.damage.sectors_lost += 1
                    pieces.append(bytes(min(_SECTOR, size - at)))
        return b"".join(pieces)
