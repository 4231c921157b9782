"""The simulated machine as a source of its own, with no port between: it works on every system."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from math import inf
from typing import Literal

import numpy as np
from pydantic import Field

from gaugebench.driver import Batch, Clock, Driver, DriverOptions, Input, Reading, Source, Stream
from gaugebench.errors import SourceError
from gaugebench.simulate.moves import Script
from gaugebench.simulate.perform import Hands, Performance
from gaugebench.simulate.rig import Rig
from gaugebench.simulate.voice import FIELDS

_STEP_S = 1e-6


class MachineSource(Source):
    """Performs a script against a clock: a read hands back the samples that have come due.

    At another speed than 1 it is a board that samples that much faster or slower: its clock keeps
    to that of the session, whose timing would take a clock of another pace for one that jumps.
    """

    def __init__(
        self,
        script: Script,
        clock: Clock,
        *,
        inputs: Sequence[Input] = (),
        rate_hz: float | None = None,
        speed: float = 1.0,
        hands: Hands | None = None,
    ) -> None:
        names = [i.name for i in inputs] or list(FIELDS)
        unknown = next((n for n in names if n not in FIELDS), None)
        if unknown is not None:
            raise SourceError(
                f"The practice machine has no input “{unknown}”; it has {', '.join(FIELDS)}."
            )
        self._columns = [FIELDS.index(n) for n in names]
        units = {name: "rpm" if name == "rpm" else "V" for name in FIELDS}
        self._clock, self._speed = clock, speed
        self._rate = rate_hz or script.rate_hz
        self._streams = (
            Stream(
                "practice",
                tuple(Input(n, units[n]) for n in names),
                self._rate * speed,
                inf,
                _STEP_S,
            ),
        )
        self.hands = hands
        self.is_closed = False
        self._lock = threading.Lock()
        self.performance = Performance(script, hands)
        self._rig = Rig(self.performance.rigging, script.seed)
        self._began = clock.now()
        self._next = 0
        self._since_s = 0.0
        self._count = int(script.duration_s * self._rate)

    @property
    def streams(self) -> tuple[Stream, ...]:
        """One stream: the inputs that were asked for, in that order."""
        return self._streams

    def read(self, timeout_s: float) -> Reading:
        """The samples that have come due; waits for the first of them at most `timeout_s`."""
        if self._next >= self._count or self._due() <= self._next:
            self._clock.sleep(min(timeout_s, 1 / (self._rate * self._speed)))
        times = [n / self._rate for n in range(self._next, min(self._due(), self._count))]
        if not times:
            return Reading()
        with self._lock:
            rows = [
                self._rig.sample(self.performance.at(t - self._since_s), t - self._since_s)
                for t in times
            ]
        self._next += len(rows)
        now = self._clock.now()
        sent = np.array(times) / self._speed
        arrival = np.minimum(now, self._began + sent)
        raw = np.array(rows)[:, self._columns]
        return Reading(batches=(Batch(0, raw, arrival, sent),))

    def begin(self, script: Script) -> None:
        """Put another machine in its place, from its script's beginning; levers go to neutral.

        Its samples go on in the same stream, as if the kit had been carried over. Any thread.
        Raises `ValueError`, `KeyError` where the script asks for what the machine has not.
        """
        performance = Performance(script, self.hands)
        if self.hands is not None:
            self.hands.let_go()
        with self._lock:
            self.performance = performance
            self._rig = Rig(performance.rigging, script.seed)
            self._since_s = self._next / self._rate

    def carry_on(self, other: MachineSource) -> None:
        """Read the machine that `other`, which is closed, has read, as it stands. Any thread."""
        with self._lock:
            self.performance, self._rig = other.performance, other._rig
            self.performance.hands = self.hands
            self._since_s = self._next / self._rate - self.performance.machine.time_s

    def _due(self) -> int:
        elapsed = (self._clock.now() - self._began) * self._speed
        # A read stays short however long nobody read: a tenth of a second of samples at a time.
        return min(int(elapsed * self._rate) + 1, self._next + int(self._rate / 10) + 1)

    def close(self) -> Reading:
        """Nothing is held back."""
        self.is_closed = True
        return Reading()


class PracticeOptions(DriverOptions):
    """Options of the practice machine."""

    rate_hz: float | None = Field(None, gt=0, le=2000, description="samples a second")
    speed: float = Field(1.0, gt=0, le=20, description="machine seconds in a second")
    script: Literal["visit", "by hand"] = Field(
        "visit", description="the demonstration, or neutral until levers are worked by hand"
    )


class Practice(Driver[PracticeOptions]):
    """The simulated machine as a driver, performing the demonstration or worked by hand."""

    name = "practice"
    summary = "a simulated twin-pump machine; needs no port"
    simulated = True
    options = PracticeOptions
    hands = Hands()
    """Levers and screws of every machine that this driver opens."""

    def __init__(self) -> None:
        self._opened: MachineSource | None = None

    @property
    def by_hand(self) -> MachineSource | None:
        """The machine that is open and left to the hands; None where there is none."""
        opened = self._opened
        return opened if opened is not None and not opened.is_closed else None

    def open(self, options: PracticeOptions, inputs: Sequence[Input], clock: Clock) -> Source:
        """Start the machine. Raises `SourceError` for an input that it has not."""
        from gaugebench.simulate.visit import demo_script, free_script

        is_free = options.script == "by hand"
        if is_free:
            self.hands.let_go()
        made = MachineSource(
            free_script() if is_free else demo_script(),
            clock,
            inputs=inputs,
            rate_hz=options.rate_hz,
            speed=options.speed,
            hands=self.hands,
        )
        if is_free:
            self._opened = made
        return made


DRIVER = Practice()
