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
from hypothesis import settings

# Without a screen Qt ends the program; no test needs one.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

# A landing must say something of the change and nothing of luck, so by default the properties are
# tried on the same examples each time. `start.py check search` looks for new ones, ten times more.
settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("search", max_examples=1000, deadline=None, print_blob=True)
settings.load_profile("search" if os.environ.get("GAUGEBENCH_SEARCH") else "same")


class PtyLine:
    """The far end of a serial line: a raw pseudo-terminal behind a link that stays the same.

    `path` is what the program opens. Unplugging closes the terminal and takes the link away.
    """

    def __init__(self, folder: Path, name: str = "ttyKIT0") -> None:
        self.path = folder / name
        self._master = -1
        self._bridge: threading.Thread | None = None
        self.replug()

    def replug(self) -> None:
        """Plug in: a new terminal under the same link."""
        self._master, slave = os.openpty()
        tty.setraw(slave)
        os.set_blocking(self._master, False)
        self.path.unlink(missing_ok=True)
        self.path.symlink_to(os.ttyname(slave))
        os.close(slave)

    def far_end(self) -> Path:
        """A second terminal, joined to this line: for a peer that wants to open a port itself."""
        master, slave = os.openpty()
        tty.setraw(slave)
        path = Path(os.ttyname(slave))
        ends = {self._master: master, master: self._master}

        def carry() -> None:
            while self._master >= 0:
                readable, _, _ = select.select(list(ends), [], [], 0.02)
                for end in readable:
                    try:
                        os.write(ends[end], os.read(end, 4096))
                    except OSError:  # nobody has opened the other side at the moment
                        time.sleep(0.01)
            os.close(slave)
            os.close(master)

        self._bridge = threading.Thread(target=carry)
        self._bridge.start()
        return path

    def unplug(self) -> None:
        """Pull the plug; nothing that was not read yet arrives any more."""
        bridge, self._bridge = self._bridge, None
        if bridge is not None:
            ended, self._master = self._master, -1
            bridge.join()
            self._master = ended
        if self._master >= 0:
            os.close(self._master)
            self._master = -1
            self.path.unlink(missing_ok=True)

    def send(self, data: bytes, timeout_s: float = 30.0) -> None:
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
            readable, _, _ = select.select([self._master], [], [], min(0.05, timeout_s))
            if readable:
                try:
                    got += os.read(self._master, count - len(got))
                except OSError:  # the program has closed its end
                    break
        return got


def pytest_addoption(parser: pytest.Parser) -> None:
    """`--device /dev/ttyUSB0`: tests that need a real board run on it; else they are left out."""
    parser.addoption("--device", help="serial port with a real board, for tests marked `device`")


def pytest_configure(config: pytest.Config) -> None:
    """The marker of tests that need a real board."""
    config.addinivalue_line("markers", "device: needs a real board; run with --device PORT")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Without a board its tests are not part of the run."""
    if config.getoption("--device"):
        return
    left_out = [item for item in items if item.get_closest_marker("device")]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if item not in left_out]


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
    until = time.monotonic() + 20.0
    while left := [t.name for t in threading.enumerate() if t.name.startswith("gaugebench-")]:
        assert time.monotonic() < until, f"threads left behind: {left}"
        time.sleep(0.01)
