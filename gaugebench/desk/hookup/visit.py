"""What was done in Hook-up, kept for the job: zeros, the wrong-port check, the levers. No Qt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Literal

from gaugebench.desk.hookup.rest import Rest
from gaugebench.model.channel import Channel
from gaugebench.quantity import Dimension

if TYPE_CHECKING:
    # A job's events cost a quarter of the start-up; they are loaded when something is done.
    from gaugebench.model.job import CautionSeen, JobEvent, NoteAdded, Observed, ZeroChecked

Moment = Literal["before", "after"]


@dataclass(frozen=True, slots=True)
class ZeroTaken:
    """One transducer's reading with no pressure on it, with the zero in force at that time.

    reading_pa: the mean; expanded_pa: half-width of its k = 2 interval, None where not known.
    noise_pa: standard deviation. taken_off_pa: the zero that the kit takes off, all in all.
    """

    at: datetime
    moment: Moment
    role: str
    input: str
    serial: str
    reading_pa: float
    expanded_pa: float | None
    noise_pa: float
    count: int
    taken_off_pa: float

    @property
    def event(self) -> ZeroChecked:
        """As a job keeps it."""
        from gaugebench.model.job import Value, ZeroChecked

        value = Value(
            value=self.reading_pa, unit=Dimension.PRESSURE.value, expanded=self.expanded_pa
        )
        return ZeroChecked(
            at=self.at, role=self.role, serial=self.serial, moment=self.moment, value=value,
            taken_off_pa=self.taken_off_pa,
        )  # fmt: skip


@dataclass(slots=True)
class Visit:
    """One visit's hook-up; of one matter the newest stands. heard: told whenever one is new."""

    zeros: dict[tuple[str, Moment], ZeroTaken] = field(default_factory=dict)
    notes: dict[str, NoteAdded] = field(default_factory=dict)
    seen: dict[str, CautionSeen] = field(default_factory=dict)
    ports: Observed | None = None
    heard: Callable[[], None] = field(default=lambda: None, repr=False, compare=False)

    def check_zeros(
        self,
        channels: Sequence[tuple[str, Channel]],
        rests: Sequence[Rest],
        moment: Moment,
        at: datetime,
    ) -> tuple[ZeroTaken, ...]:
        """Keep what each pressure with a role reads now; channels: with the names of their inputs.

        Nothing is kept of a channel without samples.
        """
        made = []
        for (name, channel), rest in zip(channels, rests, strict=True):
            if channel.role is None or channel.dimension is not Dimension.PRESSURE:
                continue
            if rest.count:
                known = rest.spread == rest.spread  # NaN where too few samples tell
                taken = ZeroTaken(
                    at, moment, str(channel.role), name, channel.transducer.serial, rest.mean,
                    rest.spread if known else None, rest.noise, rest.count, channel.chain.zero,
                )  # fmt: skip
                self.zeros[str(channel.role), moment] = taken
                made.append(taken)
        self.heard()
        return tuple(made)

    def note(self, about: str, text: str, at: datetime) -> None:
        """Keep a sentence; the newest about one matter stands."""
        from gaugebench.model.job import NoteAdded

        self.notes[about] = NoteAdded(at=at, text=text)
        self.heard()

    def checked_ports(self, at: datetime, *, are_right: bool) -> None:
        """The wrong-port check was made, or no longer counts: no stall before it has passed."""
        from gaugebench.model.job import Observed
        from gaugebench.procedure.prompt import PORTS_RIGHT

        self.ports = Observed(at=at, fact=PORTS_RIGHT, holds=are_right, note="hook-up")
        self.heard()

    def saw(self, caution: str, at: datetime) -> None:
        """A step with its caution was read and done."""
        from gaugebench.model.job import CautionSeen

        self.seen[caution] = CautionSeen(at=at, caution=caution)
        self.heard()

    @property
    def events(self) -> tuple[JobEvent, ...]:
        """Everything, in the order in which it was done; not to be taken into one job twice."""
        made: list[JobEvent] = [z.event for z in self.zeros.values()]
        made += [*self.notes.values(), *self.seen.values()]
        made += [self.ports] if self.ports is not None else []
        return tuple(sorted(made, key=lambda e: e.at))
