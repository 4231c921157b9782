"""The simulated machine as a source of its own, with no port between: it works on every system."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from gaugebench.driver import Batch, Clock, Driver, DriverOptions, Input, Reading, Source, Stream
from gaugebench.errors import SourceError
from gaugebench.simulate.lines import FIELDS
from gaugebench.simulate.rig import Rig
from gaugebench.simulate.script import Performance, Script

_WRAP_S = 2**32 / 1e3


class MachineSource(Source):
    """Performs a script against a clock: a read hands back the samples that have come due."""

    def __init__(
        self,
        script: Script,
        clock: Clock,
        *,
        inputs: Sequence[Input] = (),
        rate_hz: float = 200.0,
        speed: float = 1.0,
        seed: int = 1,
    ) -> None:
        names = [i.name for i in inputs] or list(FIELDS)
        unknown = next((n for n in names if n not in FIELDS), None)
        if unknown is not None:
            raise SourceError(
                f"The practice machine has no input “{unknown}”; it has {', '.join(FIELDS)}."
            )
        self._columns = [FIELDS.index(n) for n in names]
        units = {name: "rpm" if name == "rpm" else "V" for name in FIELDS}
        self._streams = (
            Stream("practice", tuple(Input(n, units[n]) for n in names), rate_hz, _WRAP_S),
        )
        self._script, self._clock, self._rate, self._speed = script, clock, rate_hz, speed
        self.performance = Performance(script)
        self._rig = Rig(seed=seed)
        self._began = clock.now()
        self._next = 0
        self._count = int(script.duration_s * rate_hz)

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
        rows = [self._rig.sample(self.performance.at(t), t) for t in times]
        self._next += len(rows)
        now = self._clock.now()
        arrival = np.array([min(now, self._began + t / self._speed) for t in times])
        raw = np.array(rows)[:, self._columns]
        return Reading(batches=(Batch(0, raw, arrival, np.array(times)),))

    def _due(self) -> int:
        elapsed = (self._clock.now() - self._began) * self._speed
        # A read stays short however long nobody read: half a second of samples at a time.
        return min(int(elapsed * self._rate) + 1, self._next + int(self._rate / 2) + 1)

    def close(self) -> Reading:
        """Nothing is held back."""
        return Reading()


class PracticeOptions(DriverOptions):
    """Options of the practice machine."""

    rate_hz: float = 200.0
    speed: float = 1.0


class Practice(Driver[PracticeOptions]):
    """The simulated machine as a driver, performing the demonstration."""

    name = "practice"
    summary = "a simulated twin-pump machine; needs no port"
    options = PracticeOptions

    def open(self, options: PracticeOptions, inputs: Sequence[Input], clock: Clock) -> Source:
        """Start the demonstration. Raises `SourceError` for an input that it has not."""
        from gaugebench.simulate.visit import demo_script

        return MachineSource(
            demo_script(), clock, inputs=inputs, rate_hz=options.rate_hz, speed=options.speed
        )


DRIVER = Practice()
