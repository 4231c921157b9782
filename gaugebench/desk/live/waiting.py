"""A reading that was asked for and waits until it can be taken. No Qt."""

from __future__ import annotations

from dataclasses import dataclass

from gaugebench.desk.live.work import Work
from gaugebench.desk.words import tr
from gaugebench.model.job import Phase

LONGEST_S = 60.0
"""So long is waited at most, so that no later hold is taken for this one."""


@dataclass(slots=True)
class Waiting:
    """For which check and phase, and since when on the session clock, s."""

    phase: Phase
    check: str
    since_s: float
    is_held: bool = False
    """Whether a hold has begun since."""

    def ended(self, work: Work | None, now_s: float, over_s: float) -> str:
        """Why it waits no longer, in words; "" while it does. over_s: the present hold, s."""
        check = work.check if work is not None else None
        if work is None or check is None or (check.key, work.phase) != (self.check, self.phase):
            return tr("Another check is chosen now; nothing was read.")
        if check.loads and self.is_held and over_s <= 0:
            return tr("Let go before it had settled: nothing was read. Press again to try again.")
        self.is_held = self.is_held or over_s > 0
        if now_s - self.since_s > LONGEST_S:
            return tr("Nothing settled within {seconds} s: nothing was read.",
                      seconds=round(LONGEST_S))  # fmt: skip
        return ""
