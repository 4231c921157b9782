"""A board that is not there: it opens a pseudo-terminal and writes to it as a board would."""

from __future__ import annotations

import os
import select
import struct
import threading
import time

from gaugebench.errors import SourceError
from gaugebench.simulate.moves import Script
from gaugebench.simulate.perform import Hands, Performance
from gaugebench.simulate.rig import Rig
from gaugebench.simulate.voices import Sent, TextLines, Voice

_PATIENCE_S = 0.05
"""How long a line that the terminal does not take is offered before it is counted as lost."""
_EARLY_S = 0.002


class Board:
    """Performs a script and speaks of it through a pseudo-terminal.

    voice: how it speaks; by default lines of text, `t_ms,pilot,p1,c1,p2,c2,rpm`.

    rate_hz: lines a second of machine time; the script's own by default. speed: machine seconds in
    a second of wall time. wait_s: from `start` to the banner. reader_wait_s: how long after the
    banner it waits for somebody to read it before the script begins anyway. hands: levers and
    screws worked while it runs. Use it as a context manager, or call `stop`.
    Raises `SourceError` where the system has no pseudo-terminals (Windows).
    """

    def __init__(
        self,
        script: Script,
        *,
        rate_hz: float | None = None,
        speed: float = 1.0,
        wait_s: float = 0.2,
        reader_wait_s: float = 30.0,
        hands: Hands | None = None,
        voice: Voice | None = None,
    ) -> None:
        if os.name != "posix":
            raise SourceError(
                "This system has no pseudo-terminals; use the driver “practice” instead."
            )
        import pty
        import tty

        self.script, self.speed = script, speed
        self.rate_hz = rate_hz or script.rate_hz
        self.wait_s, self.reader_wait_s = wait_s, reader_wait_s
        self.lost = 0
        """Rows that the terminal did not take in time."""
        self.rows: list[Sent] = []
        """Exactly what went out, for tests."""
        self.voice = voice or TextLines()
        self.performance = Performance(script, hands)
        """The machine behind it; for looking at, since the board's own thread moves it."""
        self._rig = Rig(self.performance.rigging, script.seed)
        self._end, self._kept = pty.openpty()
        tty.setraw(self._kept)
        os.set_blocking(self._end, False)
        # The kept end stays open, so that a reader may come and go as at a real port.
        self.port = os.ttyname(self._kept)
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="practice board", daemon=True)
        self._closed = False

    @property
    def sent(self) -> int:
        """How many rows went out whole."""
        return len(self.rows)

    @property
    def finished(self) -> bool:
        """Whether the script has come to its end."""
        return self._thread.ident is not None and not self._thread.is_alive()

    def start(self) -> None:
        """Begin to write, from the script's beginning."""
        self._thread.start()

    def stop(self) -> None:
        """Fall silent and take the port away. May be called twice."""
        self._stop.set()
        if self._thread.ident is not None:
            self._thread.join(5.0)
        if not self._closed:
            self._closed = True
            os.close(self._end)
            os.close(self._kept)

    def __enter__(self) -> Board:
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def _run(self) -> None:
        if self._stop.wait(self.wait_s):
            return
        self._write(self.voice.hello())
        self._wait_for_reader()
        began = time.monotonic()
        for number in range(int(self.script.duration_s * self.rate_hz)):
            at = number / self.rate_hz
            row = self._rig.sample(self.performance.at(at), at)
            # A deadline from the beginning, so that late lines do not add up.
            self._listen_until(began + at / self.speed)
            if self._stop.is_set():
                return
            self._send(*self.voice.say(at, row))

    def _listen_until(self, deadline: float) -> None:
        """Answer what is asked until it is time, and once in any case."""
        while not self._stop.is_set():
            rest = deadline - time.monotonic()
            ready, _, _ = select.select([self._end], [], [], min(max(rest, 0.0), _PATIENCE_S))
            if ready:
                self._send(*self.voice.hear(os.read(self._end, 4096)))
            elif rest <= _EARLY_S:
                return

    def _send(self, data: bytes, rows: list[Sent]) -> None:
        if self._write(data):
            self.rows += rows
        else:
            self.lost += len(rows)

    def _wait_for_reader(self) -> None:
        give_up = time.monotonic() + self.reader_wait_s
        while self._unread() and time.monotonic() < give_up:
            if self._stop.wait(0.01):
                return

    def _unread(self) -> int:
        import fcntl
        import termios

        answer = fcntl.ioctl(self._kept, termios.FIONREAD, struct.pack("i", 0))
        return int(struct.unpack("i", answer)[0])

    def _write(self, data: bytes) -> bool:
        """Whether all of it went out. A line begun is offered on, or it would spoil the next."""
        give_up = time.monotonic() + _PATIENCE_S
        rest = data
        while rest:
            try:
                rest = rest[os.write(self._end, rest) :]
            except BlockingIOError:
                if self._stop.wait(0.002):
                    return False
                if len(rest) == len(data) and time.monotonic() > give_up:
                    return False
        return True
