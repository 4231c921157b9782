"""The clock that sessions run on."""

from __future__ import annotations

import threading
import time


class SystemClock:
    """The machine's monotonic clock; setting the time of day does not move it."""

    def now(self) -> float:
        """Seconds since some fixed instant."""
        return time.monotonic()

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
