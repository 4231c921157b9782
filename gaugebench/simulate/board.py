"""A board that is not there: it speaks through a pseudo-terminal or a bus as a board would."""

from __future__ import annotations

import threading
import time
from typing import Any

from gaugebench.model.kit import Kit
from gaugebench.simulate.carriers import Carrier
from gaugebench.simulate.hookup import kit_for
from gaugebench.simulate.moves import Script
from gaugebench.simulate.perform import Hands, Performance
from gaugebench.simulate.rig import Rig
from gaugebench.simulate.voice import Sent, Voice
from gaugebench.simulate.voices import TextLines

_PATIENCE_S = 0.05
"""How long a line that the terminal does not take is offered before it is counted as lost."""
_EARLY_S = 0.002


class Board:
    """Performs a script and speaks of it through a pseudo-terminal, a bus or the kernel's folders.

    voice: how it speaks; by default lines of text, `t_ms,pilot,p1,c1,p2,c2,rpm`. carrier: what it
    speaks through, by default what suits the voice.

    rate_hz: lines a second of machine time; the script's own by default. speed: machine seconds in
    a second of wall time. wait_s: from `start` to the banner. reader_wait_s: how long after the
    banner it waits for somebody to read it before the script begins anyway. hands: levers and
    screws worked while it runs. Use it as a context manager, or call `stop`.
    Raises `SourceError` where the system has no such carrier (Windows: no pseudo-terminals).
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
        carrier: Carrier | None = None,
    ) -> None:
        self.script, self.speed = script, speed
        self.rate_hz = rate_hz or script.rate_hz
        self.wait_s, self.reader_wait_s = wait_s, reader_wait_s
        self.lost = 0
        """Rows that nobody took in time."""
        self.rows: list[Sent] = []
        """Exactly what went out, for tests."""
        self.voice = voice or TextLines()
        self.carrier = carrier or self.voice.carrier()
        self.port = self.carrier.port
        self.performance = Performance(script, hands)
        """The machine behind it; for looking at, since the board's own thread moves it."""
        self._rig = Rig(self.performance.rigging, script.seed)
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="practice board", daemon=True)

    @property
    def options(self) -> dict[str, Any]:
        """What a driver must be told to hear it."""
        return self.voice.options(self.port, self.rate_hz) | self.carrier.options()

    @property
    def kit(self) -> Kit:
        """The kit that hears it."""
        voice = self.voice
        return kit_for(
            self.script, voice.driver, self.options, voice.inputs, in_volts=voice.speed_in_volts
        )

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
        self.carrier.close()

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
            heard = self.carrier.read(min(max(rest, 0.0), _PATIENCE_S))
            if heard:
                self._send(*self.voice.hear(heard))
            elif rest <= _EARLY_S:
                return

    def _send(self, data: bytes, rows: list[Sent]) -> None:
        if self._write(data):
            self.rows += rows
        else:
            self.lost += len(rows)

    def _wait_for_reader(self) -> None:
        give_up = time.monotonic() + self.reader_wait_s
        while self.carrier.is_waiting() and time.monotonic() < give_up:
            if self._stop.wait(0.01):
                return

    def _write(self, data: bytes) -> bool:
        """Whether all of it went out. A line begun is offered on, or it would spoil the next."""
        give_up = time.monotonic() + _PATIENCE_S
        rest = data
        while rest:
            taken = self.carrier.write(rest)
            rest = rest[taken:]
            if not taken:
                if self._stop.wait(0.002):
                    return False
                if len(rest) == len(data) and time.monotonic() > give_up:
                    return False
        return True
