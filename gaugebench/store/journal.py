"""The journal: append-only segments of frames in a folder, safe on disk as samples arrive.

`NAME.journal/` holds `setup` (one frame, so that the meaning of the samples survives damage to a
segment), and `000001.seg`, `000002.seg` …, each of which begins with the setup as well. A segment
that met trouble is never written again; the next one repeats what may not have reached the disk,
under the same sequence numbers, and the reader takes each number once.
"""

from __future__ import annotations

import os
from pathlib import Path

from gaugebench.errors import RecordError
from gaugebench.model.event import Setup
from gaugebench.store.disk import Disk
from gaugebench.store.frames import ID_BYTES, Kind, pack
from gaugebench.store.lock import JournalLock
from gaugebench.store.payload import encode_setup

SEGMENT_BYTES = 16 << 20
SETUP_FILE = "setup"
SEGMENT_PATTERN = "[0-9][0-9][0-9][0-9][0-9][0-9].seg"


class JournalWriter:
    """Writes one journal. Not thread-safe: one thread appends and syncs.

    `append` packs and writes; what has not been synced is held in memory, so that after an
    `OSError` the same frames go into a fresh segment at `retry`.
    """

    def __init__(
        self, folder: Path, setup: Setup, disk: Disk, *, segment_bytes: int = SEGMENT_BYTES
    ) -> None:
        """Make the folder. Raises `RecordError` where it cannot be made or is held."""
        self.folder = folder
        self.bytes_written = 0
        self._disk = disk
        self._segment_bytes = segment_bytes
        self._id = os.urandom(ID_BYTES)
        self._setup = pack(self._id, 0, Kind.SETUP, encode_setup(setup))
        self._sequence = 0
        self._segment = 0
        self._descriptor: int | None = None
        self._room = 0
        self._unsynced: list[bytes] = []
        try:
            disk.make_folder(folder)
            self._lock = JournalLock(folder)
            self._write_setup_file()
            disk.sync_folder(folder)
            disk.sync_folder(folder.parent)
        except OSError as fault:
            raise RecordError(
                f"No record can be made in {folder.parent}: {fault.strerror or fault}; "
                "choose another folder."
            ) from fault

    @property
    def journal_id(self) -> str:
        """The id in every frame, as hexadecimal text."""
        return self._id.hex()

    def pack(self, kind: Kind, payload: bytes) -> bytes:
        """The next frame; it must then be given to `append`."""
        frame = pack(self._id, self._sequence, kind, payload)
        self._sequence += 1
        return frame

    def append(self, frames: list[bytes]) -> None:
        """Write frames. Raises `OSError`; they are then held and written by `retry`."""
        self._unsynced += frames
        self._write(b"".join(frames))

    def sync(self) -> None:
        """Wait until all that was appended is on the disk. Raises `OSError`; see `retry`."""
        if self._descriptor is None:
            return  # what is held has no segment yet and waits for `retry`
        if self._unsynced:
            try:
                self._disk.sync(self._descriptor)
            except OSError:
                self._give_up_segment()
                raise
        self._unsynced.clear()

    def retry(self) -> None:
        """After an `OSError`: write what is held into a fresh segment. Raises `OSError`."""
        self._give_up_segment()
        self._write(b"".join(self._unsynced))
        self.sync()

    def close(self) -> None:
        """Close the segment; the lock is kept until `release`."""
        descriptor, self._descriptor = self._descriptor, None
        if descriptor is not None:
            self._disk.close(descriptor)

    def release(self) -> None:
        """Let go of the journal's lock."""
        self._lock.release()

    def _write(self, data: bytes) -> None:
        if not data:
            return
        if self._descriptor is None or self._room <= 0:
            self._next_segment()
        try:
            self._write_all(data)
        except OSError:
            self._give_up_segment()
            raise

    def _write_all(self, data: bytes) -> None:
        assert self._descriptor is not None  # noqa: S101 - for the type checker
        self._write_whole(self._descriptor, data)
        self._room -= len(data)
        self.bytes_written += len(data)

    def _write_whole(self, descriptor: int, data: bytes) -> None:
        rest = data
        while rest:  # a disk may take fewer bytes than it is given
            rest = rest[self._disk.write(descriptor, rest) :]

    def _next_segment(self) -> None:
        if self._descriptor is not None:
            self._disk.sync(self._descriptor)
            self.close()
        self._segment += 1
        path = self.folder / f"{self._segment:06}.seg"
        self._descriptor = self._disk.create(path)
        self._room = self._segment_bytes
        self._write_all(self._setup)
        self._disk.sync_folder(self.folder)

    def _give_up_segment(self) -> None:
        descriptor, self._descriptor = self._descriptor, None
        if descriptor is not None:
            try:
                self._disk.close(descriptor)
            except OSError:
                return  # it is given up because the disk fails; its closing may fail as well

    def _write_setup_file(self) -> None:
        descriptor = self._disk.create(self.folder / SETUP_FILE)
        try:
            self._write_whole(descriptor, self._setup)
            self._disk.sync(descriptor)
        finally:
            self._disk.close(descriptor)
