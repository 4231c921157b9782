"""The clock that sessions run on."""

from __future__ import annotations

import sys
import threading
import time


class SystemClock:
    """The machine's steady clock; setting the time of day does not move it.

    It goes on while the computer sleeps, where the system has such a clock, so that a sleep in the
    middle of a record is a gap and not a seam.
    """

    def __init__(self) -> None:
        # Linux's monotonic clock and macOS's default one stand still in sleep; these do not.
        name = {"linux": "CLOCK_BOOTTIME", "darwin": "CLOCK_MONOTONIC"}.get(sys.platform)
        self._clock: int | None = getattr(time, name, None) if name else None

    def now(self) -> float:
        """Seconds since some fixed instant."""
        return time.monotonic() if self._clock is None else time.clock_gettime(self._clock)

    def sleep(self, seconds: float) -> None:
        """Wait that long; nothing for zero or less."""
        if seconds > 0:
            time.sleep(seconds)


class ManualClock:
    """A clock that stands still until it is moved, for tests: sleeping moves it."""

    def __init__(self, start_s: float = 0.0) -> None:
        self._now = start_s
        self._lock = threading.Lock()

    def now(self) -> float:
        """Seconds, as moved so far."""
        with self._lock:
            return self._now

    def sleep(self, seconds: float) -> None:
        """Move the clock on by that much at once."""
        if seconds > 0:
            with self._lock:
                self._now += seconds
