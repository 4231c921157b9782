"""Watches the segmenter's bins of an open loading and says when a provisional look is worth it."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from enum import Enum, auto
from typing import ClassVar


class Cue(Enum):
    """Why to look."""

    STARTED = auto()
    STANDS = auto()
    """A main pressure has stopped climbing."""
    DROPS = auto()


@dataclass(frozen=True, slots=True)
class Look:
    """A look at the loading `number`, with the samples up to `until_s`. start_s: where the pump's
    excursion began. base_pa: the idle level it rose from."""

    cue: Cue
    number: int
    pump: int
    until_s: float
    start_s: float
    base_pa: float


@dataclass(slots=True)
class PumpWatch:
    """One pump. `step` takes every bin while the pump is driven up; `reset` when it is not."""

    CLIMB_SHARE: ClassVar[float] = 0.03
    """A climb by less than this share of the pressure in a bin is standing."""
    STAND_BINS: ClassVar[int] = 5
    """So many bins after the climb ended there is enough to look at (a quarter of a second)."""
    NEW_SHARE: ClassVar[float] = 1.1
    DROP_SHARE: ClassVar[float] = 0.85

    _levels: deque[float] = field(default_factory=lambda: deque(maxlen=2))
    _topped: int = 0
    _standing: int = 0
    _stood_at: float = 0.0
    _looked_at: float = 0.0
    _high: float = 0.0
    _low: int = 0
    _started: bool = False
    _dropped: bool = False

    def reset(self) -> None:
        """The pump is idle."""
        self._levels.clear()
        self._topped = self._standing = self._low = 0
        self._looked_at = self._stood_at = self._high = 0.0
        self._started = self._dropped = False

    def step(self, rise: float) -> Cue | None:
        """Take a bin's level above idle (Pa); the cue that it gives, if any."""
        if not self._started:
            self._started = True
            return Cue.STARTED
        self._levels.append(rise)
        if len(self._levels) < 2:
            return None
        step = rise - self._levels[0]
        climbs, moves = step >= self.CLIMB_SHARE * rise, abs(step) >= self.CLIMB_SHARE * rise
        if not moves:
            self._high = max(self._high, rise)
        # Events lie before the top of the climb: one look soon after it, even if the pressure then
        # falls back to its hold; and one when it stands.
        self._topped = 0 if climbs else self._topped + 1
        self._standing = 0 if moves else self._standing + 1
        topped = self._topped == self.STAND_BINS and rise > self.NEW_SHARE * self._looked_at
        stands = self._standing == self.STAND_BINS and rise > self.NEW_SHARE * self._stood_at
        if topped or stands:
            self._looked_at = max(self._looked_at, rise)
            self._stood_at = rise if stands else self._stood_at
            return Cue.STANDS
        self._low = self._low + 1 if rise < self.DROP_SHARE * self._high else 0
        if self._low == 2 and not self._dropped and self._high > 0:
            self._dropped = True
            return Cue.DROPS
        return None
