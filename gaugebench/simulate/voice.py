"""What every voice of a practice board has in common, whatever the driver that understands it."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from gaugebench.simulate.carriers import Carrier, Terminal

FIELDS = ("pilot", "p1", "c1", "p2", "c2", "rpm")
"""What a row holds, in order: the transducers' volts, then the engine's speed in rpm."""
NAME = "practice board v1"
VOLTS_A_RPM = 1e-3
"""Of the speed pick-up's converter, on boards that read nothing but volts."""


@dataclass(frozen=True, slots=True)
class Sent:
    """One row that went out whole: the board's time in ms, and its numbers as written."""

    t_ms: int
    row: tuple[float, ...]


class Voice(ABC):
    """One board's way to speak. It may keep what it needs between calls: use it for one board."""

    driver: ClassVar[str]
    """The driver that understands it."""
    inputs: ClassVar[tuple[str, ...]] = FIELDS
    """What the driver calls the fields."""
    speed_in_volts: ClassVar[bool] = False
    """Whether the speed comes as a voltage, `VOLTS_A_RPM`."""

    @abstractmethod
    def options(self, port: str, rate_hz: float) -> dict[str, Any]:
        """What the kit file must tell the driver, besides what the carrier does."""

    def carrier(self) -> Carrier:
        """What carries it unless one is chosen."""
        return Terminal()

    def hello(self) -> bytes:
        """What it says when it starts; nothing by default."""
        return b""

    @abstractmethod
    def say(self, time_s: float, row: Sequence[float]) -> tuple[bytes, list[Sent]]:
        """What to write now that this sample was taken, and the rows in it (none: wait)."""

    def hear(self, data: bytes) -> tuple[bytes, list[Sent]]:  # noqa: ARG002
        """What to answer to bytes that came; nothing by default."""
        return b"", []
