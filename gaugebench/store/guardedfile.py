"""The file under an HDF5 file that is being written, so that a full disk cannot end the program.

Measured with HDF5 2.0: after a write that failed for want of space, closing a dataset crashes the
process. Here a failed write is remembered and looks as if it had worked; `check` raises it. What
was written is then worthless, and the caller throws the file away.
"""

from __future__ import annotations

import io
import os
from pathlib import Path


class GuardedFile:
    """A new file, or with `existing` one that is there, open for reading and writing.

    Raises `OSError` where it cannot be opened, and at no other time but in `check` and `close`.
    """

    def __init__(self, path: Path, *, existing: bool = False) -> None:
        flags = os.O_RDWR | getattr(os, "O_BINARY", 0)
        if not existing:
            flags |= os.O_CREAT | os.O_EXCL
        self._file = os.fdopen(os.open(path, flags, 0o644), "r+b", buffering=0)
        self._fault: OSError | None = None
        self._at = 0

    def check(self) -> None:
        """Raise what the disk refused since the file was opened."""
        if self._fault is not None:
            raise self._fault

    def close(self) -> None:
        """Close, and raise what the disk refused."""
        try:
            if self._fault is None:
                os.fsync(self._file.fileno())
        finally:
            self._file.close()
        self.check()

    def write(self, data: bytes) -> int:
        """All of it, or so it is said."""
        view = memoryview(data)
        if self._fault is None:
            try:
                self._file.seek(self._at)
                rest = view
                while len(rest):
                    rest = rest[self._file.write(rest) :]
            except OSError as fault:
                self._fault = fault
        self._at += len(view)
        return len(view)

    def truncate(self, size: int) -> int:
        """Set the file's length."""
        if self._fault is None:
            try:
                self._file.truncate(size)
            except OSError as fault:
                self._fault = fault
        return size

    def read(self, size: int = -1) -> bytes:
        """Read where the position is."""
        self._file.seek(self._at)
        data = self._file.read(size) or b""
        self._at += len(data)
        return data

    def readinto(self, buffer: bytearray | memoryview) -> int:
        """Read where the position is."""
        self._file.seek(self._at)
        count = self._file.readinto(buffer) or 0
        self._at += count
        return count

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        """Set the position."""
        base = {io.SEEK_SET: 0, io.SEEK_CUR: self._at}.get(whence)
        if base is None:
            base = os.fstat(self._file.fileno()).st_size
        self._at = base + offset
        return self._at

    def tell(self) -> int:
        """The position."""
        return self._at

    def flush(self) -> None:
        """Nothing is held back."""
