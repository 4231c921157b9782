"""The last seconds of events, so that what came before record was pressed is in the record."""

from __future__ import annotations

from collections import deque

from gaugebench.model.block import Block
from gaugebench.model.event import ClockFit, Event, GapSeen, MarkSet, Rejected, SourceSaid


def time_of(event: Event) -> float:
    """The instant of an event on the session clock, s; of a block or gap, its last instant."""
    match event:
        case Block():
            return float(event.times[-1]) if len(event) else float("-inf")
        case GapSeen():
            return event.gap.end_s
        case MarkSet():
            return event.mark.time_s
        case Rejected() | SourceSaid() | ClockFit():
            return event.time_s


class Backlog:
    """Events of the last `seconds`, oldest first, and the clock fit that stands.

    Bounded by time and, against a device that floods, by `most` events. Not thread-safe: the
    owner holds a lock.
    """

    def __init__(self, seconds: float, most: int = 20_000) -> None:
        self.seconds = seconds
        self._events: deque[Event] = deque(maxlen=most)
        self._fits: dict[str, ClockFit] = {}

    def add(self, event: Event, now_s: float) -> None:
        """Take an event in and let go of what is older than `seconds` before `now_s`."""
        if isinstance(event, ClockFit):
            self._fits[event.stream] = event
            return
        self._events.append(event)
        while self._events and time_of(self._events[0]) < now_s - self.seconds:
            self._events.popleft()

    def forget(self) -> None:
        """Let go of all events: they are in a record, and no other one is to repeat them."""
        self._events.clear()

    def events(self) -> tuple[Event, ...]:
        """What a record that begins now has to start with."""
        return (*self._fits.values(), *self._events)
