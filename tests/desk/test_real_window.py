"""The program as a real window on a screen: started, worked with keys, a record made, closed.

The screen is Xvfb's, the keys are xdotool's; there is no window manager.
"""

from __future__ import annotations

import os
import struct
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QSettings
from PySide6.QtGui import QImage

from gaugebench.desk.hookup.toml import save_kit
from gaugebench.desk.theme import LIGHT
from gaugebench.model.role import Role
from gaugebench.simulate.board import Board
from gaugebench.simulate.perform import Hands
from gaugebench.simulate.visit import demo_kit, free_script
from gaugebench.store.tracefile import TraceFile
from gaugebench.store.verify import verify

pytestmark = pytest.mark.tools

WAIT_S = 90.0
SIZE = (1600, 900)


def _until(what: str, condition: Callable[[], bool]) -> None:
    end = time.monotonic() + WAIT_S
    while not condition():
        assert time.monotonic() < end, f"waited in vain for {what}"
        time.sleep(0.2)


@dataclass(frozen=True, slots=True)
class Screen:
    """A screen without glass."""

    display: str
    memory: Path

    def tell(self, *words: str) -> str:
        """Let a person do something; what the tool answers."""
        done = subprocess.run(
            ["xdotool", *words],
            env={**os.environ, "DISPLAY": self.display},
            capture_output=True,
            text=True,
            timeout=30,
        )
        return done.stdout.strip()

    def focus(self, title: str) -> None:
        """Turn to the window whose title has these words."""
        _until(title, lambda: bool(self._window(title)))
        self.tell("windowfocus", "--sync", self._window(title))

    def closed(self, title: str) -> None:
        """Wait until no window's title has these words."""
        _until(f"the end of {title}", lambda: not self._window(title))

    def key(self, *keys: str) -> None:
        """Press keys in the window that has the focus."""
        self.tell("key", "--delay", "60", *keys)

    def picture(self) -> QImage:
        """What the screen shows. The memory is a window dump of X (X11's XWDFile.h)."""
        data = (self.memory / "Xvfb_screen0").read_bytes()
        head = struct.unpack(">25I", data[:100])
        size, wide, high, line, colours = head[0], head[4], head[5], head[12], head[19]
        start = size + 12 * colours
        return QImage(
            data[start : start + line * high], wide, high, line, QImage.Format.Format_RGB32
        ).copy()

    def _window(self, title: str) -> str:
        found = self.tell("search", "--onlyvisible", "--name", title).splitlines()
        return found[-1] if found else ""


@pytest.fixture
def screen(tmp_path: Path) -> Iterator[Screen]:
    memory = tmp_path / "screen"
    memory.mkdir()
    told, tells = os.pipe()
    command = ["Xvfb", "-displayfd", str(tells), "-screen", "0", f"{SIZE[0]}x{SIZE[1]}x24",
               "-fbdir", str(memory), "-nolisten", "tcp"]  # fmt: skip
    with subprocess.Popen(command, pass_fds=(tells,), stderr=subprocess.DEVNULL) as server:
        os.close(tells)
        with os.fdopen(told) as answer:
            number = answer.readline().strip()
        assert number, "Xvfb did not start"
        yield Screen(f":{number}", memory)
        server.terminate()


def _colours(picture: QImage) -> set[str]:
    """Every colour in it, of every fourth dot and line."""
    return {
        picture.pixelColor(x, y).name()
        for y in range(0, picture.height(), 2)
        for x in range(0, picture.width(), 2)
    }


def test_it_starts_records_and_closes(screen: Screen, tmp_path: Path) -> None:
    hands = Hands()
    hands.switch("engine", 1800.0)
    home, records = tmp_path / "home", tmp_path / "records"
    home.mkdir()
    settings = QSettings(str(home / "Gaugebench/Gaugebench.conf"), QSettings.Format.IniFormat)
    settings.setValue("folder", str(records))
    settings.sync()
    inside = {
        **os.environ,
        "DISPLAY": screen.display,
        "QT_QPA_PLATFORM": "xcb",
        "HOME": str(home),
        "XDG_CONFIG_HOME": str(home),
        "XDG_STATE_HOME": str(home),
    }
    start = "import sys; from gaugebench.cli import main; sys.argv = ['gaugebench']; main()"
    with (
        Board(free_script(), rate_hz=100.0, wait_s=0.5, hands=hands) as board,
        subprocess.Popen([sys.executable, "-c", start], env=inside, cwd=tmp_path) as program,
    ):
        save_kit(demo_kit(board.port), tmp_path / "kit.toml")
        screen.focus("Gaugebench")
        screen.key("ctrl+k")
        screen.focus("Open a kit")
        screen.tell("type", "--delay", "30", str(tmp_path / "kit.toml"))
        screen.key("Return")
        screen.closed("Open a kit")  # keys meant for the window behind it would be swallowed
        screen.focus("Gaugebench")
        screen.key("ctrl+h")
        _until("the banner", lambda: LIGHT.simulated in _colours(screen.picture()))
        screen.key("alt+2", "ctrl+r")
        _until("a journal", lambda: records.is_dir() and any(records.iterdir()))
        time.sleep(3.0)
        hands.lever("bucket", 1.0)
        time.sleep(4.0)
        hands.lever("bucket", 0.0)
        screen.key("space")
        time.sleep(2.0)
        live = screen.picture()
        assert live.save(str(tmp_path / "live.png"))
        screen.key("ctrl+e")
        _until("a sealed trace", lambda: any(records.glob("*.h5")))
        time.sleep(5.0)  # it is opened in Review by itself
        review = screen.picture()
        assert review.save(str(tmp_path / "review.png"))
        screen.key("ctrl+q")
        assert program.wait(WAIT_S) == 0
    assert {LIGHT.pumps[0], LIGHT.pumps[1], LIGHT.simulated} <= _colours(live)
    assert live != review
    (sealed,) = records.glob("*.h5")
    assert verify(sealed) == []
    trace = TraceFile(sealed).trace()
    assert trace.simulated
    assert len(trace.series) == 6
    assert all(np.isfinite(s.values).sum() > 200 for s in trace.series)
    main = trace.find(Role.main(1))
    assert main is not None
    assert main.values.max() > 200e5  # the bucket was held against its stop
    assert "by hand" in [m.standing.value for m in trace.marks]
