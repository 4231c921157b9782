"""How a source does: rates, rejects, and what the numbers suggest to the technician."""

from __future__ import annotations

import threading
from collections import Counter, deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from gaugebench.driver import Reject
from gaugebench.model.arrays import F64
from gaugebench.model.event import Rejected

RATE_WINDOW_S = 2.0
WRONG_SPEED_S = 2.0
FLUSH_S = 0.5
KEEP_SAMPLES = 16
KEEP_BYTES = 256
KEEP_IN_ALL = 65_536
"""Of all rejected bytes of a source, so much at most is kept raw; the rest is only counted."""
STUCK_S = 2.0


@dataclass(frozen=True, slots=True)
class SourceHealth:
    """The state of one source.

    rate_hz: rows a second over the last 2 s, of its fastest stream; rates: of each stream.
    rejects: counted by kind. lost: rows known to be missing. drift_ppm: of the device's clock
    against this machine's, None while unknown. said: the last thing the source or its driver said.
    advice: what the numbers suggest, one sentence each; nothing is ever applied by itself.
    fault: what ended its reader for good, None as long as it runs.
    """

    name: str
    driver: str
    alive: bool
    rate_hz: float
    rejects: Mapping[str, int] = field(default_factory=dict)
    lost: int = 0
    drift_ppm: float | None = None
    said: str = ""
    advice: tuple[str, ...] = ()
    rates: Mapping[str, float] = field(default_factory=dict)
    rows: int = 0
    fault: Exception | None = None


class Tally:
    """Counts what a source delivers. Written on its reader thread, read on any."""

    def __init__(self, source: str, speed: int | None) -> None:
        self._source = source
        self._speeds = [speed] if speed else []
        self._lock = threading.Lock()
        self._rows: dict[str, deque[tuple[float, int]]] = {}
        self._total = 0
        self._rejects: Counter[str] = Counter()
        self._pending: Counter[str] = Counter()
        self._samples: dict[str, list[bytes]] = {}
        self._kept = 0
        self._flushed_s = 0.0
        self._noise_since: float | None = None
        self._noise_until = 0.0
        self._still: dict[str, _Still] = {}

    def rows(self, stream: str, names: Sequence[str], raw: F64, now: float) -> None:
        """Count rows of a stream; raw: shape (n, inputs)."""
        with self._lock:
            seen = self._rows.setdefault(stream, deque())
            seen.append((now, len(raw)))
            while seen and seen[0][0] < now - 2 * RATE_WINDOW_S:
                seen.popleft()
            self._total += len(raw)
            self._noise_since = None
            self._still.setdefault(stream, _Still(names)).see(raw, now)

    def rejects(self, rejects: Sequence[Reject], now: float) -> None:
        """Count rejects and keep some of them raw."""
        with self._lock:
            for reject in rejects:
                self._rejects[reject.kind] += 1
                self._pending[reject.kind] += 1
                kept = self._samples.setdefault(reject.kind, [])
                piece = reject.raw[:KEEP_BYTES]
                if len(kept) < KEEP_SAMPLES and self._kept + len(piece) <= KEEP_IN_ALL:
                    kept.append(piece)
                    self._kept += len(piece)
            if rejects:
                if self._noise_since is None:
                    self._noise_since = now
                self._noise_until = now

    def pending(self, now: float, *, at_once: bool = False) -> list[Rejected]:
        """The rejects not yet handed on, at most every half second."""
        with self._lock:
            if not self._pending or (now - self._flushed_s < FLUSH_S and not at_once):
                return []
            self._flushed_s = now
            found = [
                Rejected(self._source, kind, count, now, tuple(self._samples.get(kind, ())))
                for kind, count in sorted(self._pending.items())
            ]
            self._pending.clear()
            self._samples.clear()
            return found

    def rates(self, now: float) -> dict[str, float]:
        """Rows a second of each stream."""
        with self._lock:
            return {
                stream: sum(n for t, n in seen if t > now - RATE_WINDOW_S) / RATE_WINDOW_S
                for stream, seen in self._rows.items()
            }

    def counts(self) -> tuple[int, dict[str, int]]:
        """Rows in all, and rejects by kind."""
        with self._lock:
            return self._total, dict(self._rejects)

    def advice(self, now: float) -> tuple[str, ...]:
        """What the numbers suggest."""
        with self._lock:
            found = []
            noisy = self._noise_since is not None and now - self._noise_until < WRONG_SPEED_S
            if noisy and self._noise_until - (self._noise_since or 0.0) >= WRONG_SPEED_S:
                tried = ", ".join(str(s) for s in self._speeds)
                found.append(
                    "Bytes arrive but no row can be read: wrong speed?"
                    + (f" Tried {tried} baud." if tried else "")
                )
            for still in self._still.values():
                found.extend(still.advice())
            return tuple(found)


class _Still:
    """Which inputs of a stream have read exactly zero for a while, though others move."""

    def __init__(self, names: Sequence[str]) -> None:
        self._names = tuple(names)
        self._zero_since = np.full(len(names), np.nan)
        self._moved_at = np.full(len(names), -np.inf)
        self._last = np.full(len(names), np.nan)
        self._now = 0.0

    def see(self, raw: F64, now: float) -> None:
        self._now = now
        newest = raw[-1]
        self._moved_at[newest != self._last] = now
        is_zero = np.all(raw == 0.0, axis=0)
        self._zero_since[~is_zero] = np.nan
        self._zero_since[is_zero & np.isnan(self._zero_since)] = now
        self._last = newest.copy()

    def advice(self) -> list[str]:
        moving = bool(np.any(self._now - self._moved_at < STUCK_S))
        return [
            f"“{name}” reads exactly 0 while others move: stuck or dead?"
            for name, since in zip(self._names, self._zero_since, strict=True)
            if moving and self._now - since >= STUCK_S
        ]
