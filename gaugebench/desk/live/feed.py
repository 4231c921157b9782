"""What the Live place asks of whoever feeds it: the interface of a session. No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from gaugebench.model.arrays import F64, U16
from gaugebench.model.channel import StreamSpec
from gaugebench.model.mark import Mark
from gaugebench.model.trace import Particulars

if TYPE_CHECKING:
    from gaugebench.model.kit import Kit


class Window(Protocol):
    """Copies of samples: times (n,), values (n, channels) in inside units, quality alike."""

    @property
    def times(self) -> F64:
        """Instants on the session clock, s."""

    @property
    def values(self) -> F64:
        """Values in the inside unit; NaN where there is none."""

    @property
    def quality(self) -> U16:
        """Bits of `Quality`."""


class Stalled(Protocol):
    """The present hold of main pressure."""

    @property
    def is_settled(self) -> bool:
        """Whether it has been held long enough to be read."""

    @property
    def held_s(self) -> float:
        """For how long the pressure has stood, s."""

    @property
    def highest_pa(self) -> float:
        """The highest pressure held in a loading that has ended; 0 where none was."""


class Recording(Protocol):
    """How a record that is running does."""

    @property
    def path(self) -> Path:
        """Where the sealed trace will be."""

    @property
    def seconds(self) -> float:
        """How long it is."""

    @property
    def samples(self) -> int:
        """How many rows it holds."""

    @property
    def free_bytes(self) -> int | None:
        """Room left on the disk."""

    @property
    def hours_left(self) -> float | None:
        """How long that room lasts at the present rate."""

    @property
    def lost(self) -> int:
        """Samples that found no room."""

    @property
    def trouble(self) -> str | None:
        """What is wrong with it, in words; None where nothing is."""


class Feed(Protocol):
    """A session that is open."""

    @property
    def streams(self) -> tuple[StreamSpec, ...]:
        """What is delivered."""

    @property
    def kit(self) -> Kit | None:
        """The kit it reads, where it is read through one."""

    @property
    def simulated(self) -> bool:
        """Whether it is not a machine."""

    @property
    def folder(self) -> Path:
        """Where records go."""

    def now_s(self) -> float:
        """The session clock, s."""

    def window(self, stream: int, seconds: float) -> Window:
        """Copies of the last `seconds` of a stream."""

    def marks(self) -> tuple[Mark, ...]:
        """Marks so far."""

    @property
    def stall(self) -> Stalled:
        """The present hold of main pressure."""

    def add_mark(self, note: str) -> Mark:
        """Set a mark at this instant."""

    def start_recording(
        self, particulars: Particulars | None = None, name: str | None = None
    ) -> None:
        """Begin a record."""

    def stop_recording(self) -> Path:
        """End it and seal it; may take seconds."""

    @property
    def record_state(self) -> Recording | None:
        """How the record does; None where none runs."""

    def health(self) -> Sequence[object]:
        """How each source does; `desk.live.health` puts it in words."""

    def use_port(self, source: str, port: str) -> None:
        """Where the user says a lost source is now."""
