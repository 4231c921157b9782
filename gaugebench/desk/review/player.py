"""Where a replay stands: plays, pauses, steps, loops. No Qt; time is handed in."""

from __future__ import annotations

from dataclasses import dataclass

SPEEDS = (0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)


@dataclass(slots=True)
class Player:
    """Positions in s on the trace's clock. `loop`: the stretch to repeat, or None."""

    start_s: float = 0.0
    end_s: float = 0.0
    at_s: float = 0.0
    speed: float = 1.0
    is_playing: bool = False
    loop: tuple[float, float] | None = None

    def play(self) -> None:
        """Go on, from the start where the end was reached."""
        first, last = self.loop or (self.start_s, self.end_s)
        if not first <= self.at_s < last:
            self.at_s = first
        self.is_playing = True

    def pause(self) -> None:
        """Stand still."""
        self.is_playing = False

    def step(self, by_s: float) -> None:
        """Move by hand and stand still."""
        self.is_playing = False
        self.at_s = min(max(self.at_s + by_s, self.start_s), self.end_s)

    def advance(self, passed_s: float) -> None:
        """So much time of the wall has passed."""
        if not self.is_playing:
            return
        self.at_s += passed_s * self.speed
        first, last = self.loop or (self.start_s, self.end_s)
        if self.at_s < last:
            return
        if self.loop is not None and last > first:
            self.at_s = first + (self.at_s - last) % (last - first)
        else:
            self.at_s, self.is_playing = last, False
