"""The line from a device's clock to the session clock, laid along the earliest arrivals.

A byte is never read before it was sent, and sometimes soon after; so over half a second the least
of (arrival - device time) is close to the true offset, whatever the transport held back. A straight
line through these lows gives offset and drift. The line in use turns towards the fitted one
gradually, so that no step between two samples is distorted by more than `SLEW`.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy as np

from gaugebench.model.arrays import F64

STEP_S = 0.5
"""Device and session that disagree by more than this no longer belong to one line."""
LATE_FOR_S = 2.0
WINDOW_S = 0.5
WINDOWS = 1200
DRIFT_WINDOWS = 20
"""With fewer lows than this (10 s) the device's second is taken for a true one."""
HORIZON_S = 5.0
SLEW = 300e-6
EARLY_SLEW = 2000e-6
"""In the first 20 s, while the offset is still coming down to its least."""
REPORT_S = (2.0, 5.0, 10.0, 20.0, 60.0)


@dataclass(frozen=True, slots=True)
class Line:
    """session = offset_s + (1 + drift_ppm * 1e-6) * device. spread_s: what the lows leave over."""

    offset_s: float
    drift_ppm: float
    spread_s: float


class ClockLine:
    """Turns device times (unwrapped, s) into session times, learning as rows come."""

    def __init__(self) -> None:
        self._anchor_device = 0.0
        self._anchor_session: float | None = None
        self._slope = 1.0
        self._began = 0.0
        self._lows: deque[tuple[float, float]] = deque(maxlen=WINDOWS)
        self._window_start = 0.0
        self._low = (0.0, float("inf"))
        self._reports = 0
        self._late_since: float | None = None
        self._fit: Line | None = None
        self.is_lost = False

    @property
    def drift_ppm(self) -> float | None:
        """The fitted drift, or None while too little has been seen."""
        has_drift = self._fit is not None and len(self._lows) >= DRIFT_WINDOWS
        return self._fit.drift_ppm if self._fit is not None and has_drift else None

    def times(self, device: F64, arrival: F64) -> F64:
        """Session times of rows, shape as given. The first call lays the line."""
        if self._anchor_session is None:
            self._anchor_device = self._began = self._window_start = float(device[0])
            self._anchor_session = float(device[0]) + float(np.min(arrival - device))
        return np.asarray(self._anchor_session + self._slope * (device - self._anchor_device))

    def learn(self, device: F64, arrival: F64) -> Line | None:
        """Take rows into account; returns a fit when it is time to note one.

        Sets `is_lost` where all that arrived for a while was later than the line by `STEP_S`.
        """
        behind = float(np.min(arrival - self.times(device, arrival)))
        if behind <= STEP_S:
            self._late_since = None
        elif self._late_since is None:
            self._late_since = float(arrival[-1])
        elif arrival[-1] - self._late_since > LATE_FOR_S:
            self.is_lost = True
        offsets = arrival - device
        lowest = int(np.argmin(offsets))
        if offsets[lowest] < self._low[1]:
            self._low = (float(device[lowest]), float(offsets[lowest]))
        if device[-1] - self._window_start < WINDOW_S:
            return None
        self._lows.append(self._low)
        self._low = (0.0, float("inf"))
        self._window_start = float(device[-1])
        self._fit = self._fitted()
        self._aim(float(device[-1]), self._fit)
        age = float(device[-1]) - self._began
        due = REPORT_S[min(self._reports, len(REPORT_S) - 1)]
        due += max(0, self._reports - len(REPORT_S) + 1) * REPORT_S[-1]
        if age < due:
            return None
        self._reports += 1
        return self._fit

    def _fitted(self) -> Line:
        lows = np.array(self._lows)
        if len(lows) < DRIFT_WINDOWS:
            # The least of all: lateness only ever adds.
            return Line(float(lows[:, 1].min()), 0.0, float(lows[:, 1].std()))
        middle = float(lows[:, 0].mean())
        slope, level = np.polyfit(lows[:, 0] - middle, lows[:, 1], 1)
        left_over = lows[:, 1] - level - slope * (lows[:, 0] - middle)
        return Line(float(level - slope * middle), float(slope) * 1e6, float(left_over.std()))

    def _aim(self, device: float, fit: Line) -> None:
        """Start from the last instant given out and turn towards the fit."""
        assert self._anchor_session is not None  # noqa: S101 - learn() laid the line
        now = self._anchor_session + self._slope * (device - self._anchor_device)
        drift = fit.drift_ppm * 1e-6
        off = fit.offset_s + (1 + drift) * device - now
        limit = EARLY_SLEW if device - self._began < 20 else SLEW
        turn = min(max(off / HORIZON_S, -limit), limit)
        self._anchor_device, self._anchor_session = device, now
        self._slope = 1 + drift + turn
