"""Spans in which a channel is not to be believed, as a judgement made afterwards."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from gaugebench.model.saying import Saying

DETECTOR = "1"
"""The version of the detectors; it goes up whenever what they find changes."""


class Ailment(StrEnum):
    """What is wrong with a channel."""

    STUCK = "stuck"
    """It repeats one value while the machine moves: frozen or dead."""
    COPIED = "copied"
    """It repeats another channel sample for sample."""
    CLIPPED = "clipped"
    """It stands at its upper end: the true value lies beyond."""
    FLOORED = "floored"
    """It stands at its lower end: the true value lies at or below it."""
    WIRE_OFF = "wire off"
    """It shows what only a broken or missing wire gives."""
    OVER_RANGE = "over range"
    """It lies above what the transducer is made for."""
    ZERO_SHIFTED = "zero shifted"
    """Its zero has moved, or was never taken."""
    SLOW = "slow update"
    """It is sampled more often than it changes."""


@dataclass(frozen=True, slots=True)
class Sick:
    """One span of one channel, by its title. note: what it does, in words that follow its name."""

    ailment: Ailment
    channel: str
    start_s: float
    end_s: float
    note: str
    other: str | None = None
    """The channel that it repeats."""
    detector: str = DETECTOR

    @property
    def sentence(self) -> str:
        """What is wrong, as it is printed beside a figure."""
        return Saying("{channel} {note}.", channel=self.channel, note=self.note)
