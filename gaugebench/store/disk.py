"""The few things a journal asks of a disk, so that tests can make each of them fail."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Protocol

from gaugebench.store.names import sync_folder


class Disk(Protocol):
    """A disk. Every method may raise `OSError`."""

    def make_folder(self, path: Path) -> None:
        """Make a folder that is not there yet."""

    def create(self, path: Path) -> int:
        """Make a file that is not there yet, open for writing; its descriptor."""

    def write(self, descriptor: int, data: bytes) -> int:
        """Write from the start of `data`; how many bytes were taken, which may be fewer."""

    def sync(self, descriptor: int) -> None:
        """Wait until what was written is on the disk itself."""

    def close(self, descriptor: int) -> None:
        """Close the file."""

    def sync_folder(self, path: Path) -> None:
        """Wait until the names in a folder are on the disk itself."""

    def free_bytes(self, path: Path) -> int:
        """How much may still be written in that folder."""


class RealDisk:
    """The disk of this computer."""

    def make_folder(self, path: Path) -> None:
        """See `Disk`."""
        path.mkdir()

    def create(self, path: Path) -> int:
        """See `Disk`."""
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
        return os.open(path, flags, 0o644)

    def write(self, descriptor: int, data: bytes) -> int:
        """See `Disk`."""
        return os.write(descriptor, data)

    def sync(self, descriptor: int) -> None:
        """See `Disk`."""
        os.fsync(descriptor)

    def close(self, descriptor: int) -> None:
        """See `Disk`."""
        os.close(descriptor)

    def sync_folder(self, path: Path) -> None:
        """See `Disk`."""
        sync_folder(path)

    def free_bytes(self, path: Path) -> int:
        """See `Disk`."""
        return shutil.disk_usage(path).free
