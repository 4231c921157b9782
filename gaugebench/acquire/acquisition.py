"""All sources of a kit, read at once, each at its own rate."""

from __future__ import annotations

import sys
from collections.abc import Callable

from gaugebench.acquire.binding import Loader, Place, bind
from gaugebench.acquire.health import SourceHealth
from gaugebench.acquire.ports import list_ports
from gaugebench.acquire.reader import SourceReader
from gaugebench.acquire.rebind import Lister
from gaugebench.acquire.registry import load
from gaugebench.driver import Clock
from gaugebench.errors import SourceError
from gaugebench.model.channel import StreamSpec
from gaugebench.model.event import Event
from gaugebench.model.kit import Kit

__all__ = ["Acquisition", "SourceHealth"]

SWITCH_S = 0.0005
"""How long a thread waits before it asks another to let go of the interpreter.

Python's own 5 ms is waited for after every call to the system, so a reader beside a busy window
needs 20 ms for one read, in which a line of 8 × 10 kHz fills the 4 KiB that a terminal holds.
"""


class Acquisition:
    """Opens a kit and hands every event to `sink`, on the reader threads.

    The times of events are on the session clock, which stands at 0 when `start` is called. Events
    of one source come in order; those of different sources come from different threads.
    """

    def __init__(
        self,
        kit: Kit,
        clock: Clock,
        sink: Callable[[Event], None],
        loader: Loader = load,
        lister: Lister = list_ports,
    ) -> None:
        self._kit = kit
        self._clock = clock
        self._sink = sink
        self._loader = loader
        self._lister = lister
        self._readers: list[SourceReader] = []
        self._streams: tuple[StreamSpec, ...] = ()
        self._is_open = False

    @property
    def streams(self) -> tuple[StreamSpec, ...]:
        """What is delivered, in the order that `Block.stream` counts; empty before `start`."""
        return self._streams

    @property
    def readers(self) -> tuple[SourceReader, ...]:
        """The readers, one for each source of the kit, in its order."""
        return tuple(self._readers)

    @property
    def simulated(self) -> bool:
        """Whether a source that was opened is no machine; False before `open`."""
        return any(reader.bound.driver.simulated for reader in self._readers)

    def open(self) -> None:
        """Open every source, not yet reading. Raises `DriverError`, `KitError`, `SourceError`."""
        if self._is_open:
            raise SourceError("The kit is open already; stop it first.")
        self._readers, self._is_open = [], True
        zero_s = self._clock.now()
        found: list[tuple[Place, ...]] = []
        try:
            bounds = [
                bind(entry, f"source.{number}", self._loader)
                for number, entry in enumerate(self._kit.source)
            ]
            for bound in bounds:
                reader = SourceReader(bound, self._clock, self._sink, self._lister)
                found.append(reader.open())
                self._readers.append(reader)
        except BaseException:  # a plugin may raise anything; no port may stay taken
            self.stop()
            raise
        specs: list[StreamSpec] = []
        for reader, places in zip(self._readers, found, strict=True):
            reader.begin(places, len(specs), zero_s)
            specs.extend(place.spec for place in places)
        self._streams = tuple(specs)

    def start(self) -> None:
        """Open every source and begin to read.

        Either all sources open or none stays open. Raises `DriverError`, `KitError`, `SourceError`.
        """
        self.open()
        sys.setswitchinterval(min(SWITCH_S, sys.getswitchinterval()))
        for reader in self._readers:
            reader.start()

    def stop(self) -> None:
        """Stop reading and let go of every source; may be called twice. Raises `SourceError`."""
        if not self._is_open:
            return
        self._is_open = False
        faults = []
        for reader in self._readers:
            try:
                reader.stop()
            except SourceError as fault:
                faults.append(fault)
        if faults:
            raise faults[0]

    def health(self) -> tuple[SourceHealth, ...]:
        """How each source does, in the order of the kit."""
        return tuple(reader.health() for reader in self._readers)

    def use_port(self, source: str, port: str) -> None:
        """Where the user says a lost source is now. Raises `SourceError` for an unknown source."""
        for reader in self._readers:
            if reader.bound.name == source:
                reader.use_port(port)
                return
        raise SourceError(f"The kit has no source “{source}”.")
