"""Helpers that several rooms' tests share."""

from __future__ import annotations

import os
import select
import threading
import time
import tty
from collections.abc import Iterator
from pathlib import Path

import pytest


class PtyLine:
    """The far end of a serial line: a raw pseudo-terminal behind a link that stays the same.

    `path` is what the program opens. Unplugging closes the terminal and takes the link away.
    """

    def __init__(self, folder: Path, name: str = "ttyKIT0") -> None:
        self.path = folder / name
        self._master = -1
        self.replug()

    def replug(self) -> None:
        """Plug in: a new terminal under the same link."""
        self._master, slave = os.openpty()
        tty.setraw(slave)
        os.set_blocking(self._master, False)
        self.path.unlink(missing_ok=True)
        self.path.symlink_to(os.ttyname(slave))
        os.close(slave)

    def unplug(self) -> None:
        """Pull the plug; nothing that was not read yet arrives any more."""
        if self._master >= 0:
            os.close(self._master)
            self._master = -1
            self.path.unlink(missing_ok=True)

    def send(self, data: bytes, timeout_s: float = 10.0) -> None:
        """Send all the bytes, as fast as the program takes them."""
        until = time.monotonic() + timeout_s
        while data:
            if time.monotonic() > until:
                raise TimeoutError(f"{len(data)} bytes were not taken")
            _, writable, _ = select.select([], [self._master], [], 0.1)
            if writable:
                data = data[os.write(self._master, data[:1024]) :]

    def received(self, count: int, timeout_s: float = 5.0) -> bytes:
        """The next `count` bytes that the program sent; fewer when time runs out."""
        got = b""
        until = time.monotonic() + timeout_s
        while len(got) < count and time.monotonic() < until:
            readable, _, _ = select.select([self._master], [], [], 0.05)
            if readable:
                got += os.read(self._master, count - len(got))
        return got


@pytest.fixture
def line(tmp_path: Path) -> Iterator[PtyLine]:
    """One serial line."""
    made = PtyLine(tmp_path)
    yield made
    made.unplug()


@pytest.fixture
def second_line(tmp_path: Path) -> Iterator[PtyLine]:
    """Another serial line."""
    made = PtyLine(tmp_path, "ttyKIT1")
    yield made
    made.unplug()


@pytest.fixture(autouse=True)
def no_thread_left() -> Iterator[None]:
    """No test leaves one of the program's threads behind."""
    yield
    until = time.monotonic() + 2.0
    while left := [t.name for t in threading.enumerate() if t.name.startswith("gaugebench-")]:
        assert time.monotonic() < until, f"threads left behind: {left}"
        time.sleep(0.01)
