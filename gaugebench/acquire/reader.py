"""One source, read on a thread of its own, opened again when it comes back."""

from __future__ import annotations

import threading
from collections.abc import Callable

import numpy as np

from gaugebench.acquire.binding import Bound, Place, places
from gaugebench.acquire.health import SourceHealth, Tally
from gaugebench.acquire.ports import list_ports
from gaugebench.acquire.rebind import Lister, PortIdentity
from gaugebench.acquire.timing import StreamTimer
from gaugebench.driver import Batch, Clock, Reading, Source, Stream
from gaugebench.errors import DriverError, GaugebenchError, SourceError
from gaugebench.model.event import Event, SourceSaid

READ_WAIT_S = 0.1
PACE_S = 0.005
"""After something was read: what arrives meanwhile is then taken in one go."""
FIRST_RETRY_S = 0.25
LAST_RETRY_S = 2.0
SILENT_S = 1.0
FIRST_ROW_S = 3.0
"""A board that was reset by opening its port takes this long to speak."""
SILENT_ROWS = 5
JOIN_S = 5.0
DRAIN_READS = 100


class SourceReader:
    """Reads a source and hands on events with times on the session clock.

    Everything but `start`, `stop`, `health` and `use_port` happens on the reader thread.
    """

    def __init__(
        self, bound: Bound, clock: Clock, sink: Callable[[Event], None], lister: Lister = list_ports
    ) -> None:
        self.bound = bound
        self._clock = clock
        self._sink = sink
        self._lister = lister
        self._source: Source | None = None
        self._streams: tuple[Stream, ...] = ()
        self._identity: PortIdentity | None = None
        self._chosen_port: str | None = None
        self._timers: dict[int, StreamTimer] = {}
        self._zero_s = 0.0
        self._retry_at = 0.0
        self._retry_s = FIRST_RETRY_S
        self._alive = True
        self._said = ""
        self._heard_s = 0.0
        self._tally = Tally(bound.name, getattr(bound.options, "baud", None))
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self.fault: Exception | None = None

    def open(self) -> tuple[Place, ...]:
        """Open the source; what it delivers. Raises `SourceError`, `KitError`."""
        if self.bound.port is not None:
            self._identity = PortIdentity.of(self.bound.port, self._lister)
        self._source = self.bound.open(self._clock)
        self._streams = self._source.streams
        try:
            return places(self.bound, self._streams)
        except GaugebenchError:
            self._source.close()
            raise

    def begin(self, found: tuple[Place, ...], first: int, zero_s: float) -> None:
        """Number its streams from `first`; the session clock stood at 0 at `zero_s`."""
        self._zero_s = zero_s
        self._heard_s = self._now()
        for offset, place in enumerate(found):
            self._timers[place.driver_stream] = StreamTimer(
                self._streams[place.driver_stream],
                place.spec.name,
                first + offset,
                place.columns,
                self._sink,
            )

    def start(self) -> None:
        """Start the thread."""
        name = f"gaugebench-read-{self.bound.name}"
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End the thread and let go of the source. Raises `SourceError` where it does not end."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join(JOIN_S)
            if self._thread.is_alive():
                raise SourceError(
                    f"The source “{self.bound.name}” does not end; its driver "
                    f"“{self.bound.driver.name}” waits longer than it may."
                )
            self._thread = None
        else:
            self.finish()

    def use_port(self, port: str) -> None:
        """The user says where the device is now."""
        self._chosen_port = port

    def health(self) -> SourceHealth:
        """How it does."""
        now = self._now()
        rates = self._tally.rates(now)
        rows, rejects = self._tally.counts()
        drifts = [t.drift_ppm for t in self._timers.values() if t.drift_ppm is not None]
        return SourceHealth(
            name=self.bound.name,
            driver=self.bound.driver.name,
            alive=self._alive and self.fault is None,
            rate_hz=max(rates.values(), default=0.0),
            rejects=rejects,
            lost=sum(t.lost for t in self._timers.values()),
            drift_ppm=drifts[0] if drifts else None,
            said=self._said,
            advice=self._tally.advice(now),
            rates=rates,
            rows=rows,
            fault=self.fault,
        )

    def step(self) -> bool:
        """Read once, or try to open again. Returns whether anything came."""
        if self._source is None:
            return self._reopen()
        try:
            reading = self._source.read(READ_WAIT_S)
        except SourceError as fault:
            self._lose(str(fault))
            return False
        came = self._hand_on(reading)
        for timer in self._timers.values():
            timer.flush(self._now())
        self._watch_silence()
        for event in self._tally.pending(self._now()):
            self._sink(event)
        return came

    def finish(self) -> None:
        """Hand on what is left and let go of the source."""
        if self._source is not None:
            for _ in range(DRAIN_READS):
                try:
                    reading = self._source.read(0.0)
                except SourceError:
                    break
                if not self._hand_on(reading):
                    break
            self._close()
        for timer in self._timers.values():
            timer.flush()
        for event in self._tally.pending(self._now(), at_once=True):
            self._sink(event)

    def _run(self) -> None:
        try:
            while not self._stop.is_set():
                if self.step():
                    self._stop.wait(PACE_S)
                elif self._source is None:
                    self._stop.wait(0.1)
            self.finish()
        except Exception as fault:  # noqa: BLE001 - a plugin's fault; kept, and shown by health()
            self.fault = fault
            self._say(f"Reading ended: {type(fault).__name__}: {fault}", alive=False)
            if self._source is not None:
                self._source.close()
                self._source = None

    def _now(self) -> float:
        return self._clock.now() - self._zero_s

    def _say(self, text: str, *, alive: bool) -> None:
        self._said, self._alive = text, alive
        self._sink(SourceSaid(self.bound.name, text, self._now(), alive))

    def _hand_on(self, reading: Reading) -> bool:
        now = self._now()
        for notice in reading.notices:
            self._said = notice.text
            at = notice.arrival_s - self._zero_s
            self._sink(SourceSaid(self.bound.name, notice.text, at, self._alive))
            if notice.restarted:
                for timer in self._timers.values():
                    timer.break_off("the device restarted", settling=True)
        self._tally.rejects(reading.rejects, now)
        for batch in reading.batches:
            self._check(batch)
            stream = self._streams[batch.stream]
            if len(batch.raw) == 0:
                continue
            self._tally.rows(stream.name, [i.name for i in stream.inputs], batch.raw, now)
            if (wanted := self._timers.get(batch.stream)) is not None:
                wanted.take(_shifted(batch, self._zero_s))
            self._heard_s = now
            if not self._alive:
                self._say(f"“{self.bound.name}” delivers again.", alive=True)
        return bool(reading.batches or reading.rejects or reading.notices)

    def _check(self, batch: Batch) -> None:
        """A driver that breaks the contract is told so before it can spoil a record."""
        inputs = len(self._streams[batch.stream].inputs)
        rows = len(batch.raw)
        shapes = [
            batch.arrival_s.shape,
            (rows,) if batch.device_s is None else batch.device_s.shape,
        ]
        if batch.raw.shape != (rows, inputs) or shapes != [(rows,), (rows,)]:
            raise DriverError(
                f"The driver “{self.bound.driver.name}” handed back {batch.raw.shape} values with "
                f"{batch.arrival_s.shape} times for {inputs} inputs; report it to its maker."
            )

    def _watch_silence(self) -> None:
        quiet = self._now() - self._heard_s
        usual = max((t.pace.interval_s or 0.0 for t in self._timers.values()), default=0.0)
        allowed = SILENT_S if any(t.rows for t in self._timers.values()) else FIRST_ROW_S
        if self._alive and quiet > max(allowed, SILENT_ROWS * usual):
            self._say(f"Nothing that can be read has come from “{self.bound.name}”.", alive=False)

    def _lose(self, why: str) -> None:
        self._close()
        self._say(why, alive=False)
        for timer in self._timers.values():
            timer.break_off("the source was lost")
        self._retry_s = FIRST_RETRY_S
        self._retry_at = self._clock.now() + self._retry_s

    def _close(self) -> None:
        source, self._source = self._source, None
        if source is None:
            return
        try:
            self._hand_on(source.close())
        except SourceError as fault:  # it is let go of all the same
            self._said = str(fault)

    def _reopen(self) -> bool:
        if self._clock.now() < self._retry_at:
            return False
        try:
            port = self._chosen_port
            if port is None and self._identity is not None:
                port = self._identity.where_now(self._lister)
            source = self.bound.open(self._clock, port)
        except SourceError as fault:
            self._retry_s = min(2 * self._retry_s, LAST_RETRY_S)
            self._retry_at = self._clock.now() + self._retry_s
            if str(fault) != self._said:
                self._say(str(fault), alive=False)
            return False
        if source.streams != self._streams:
            source.close()
            self._retry_at = self._clock.now() + LAST_RETRY_S
            self._say(f"What came back as “{self.bound.name}” is another device.", alive=False)
            return False
        self._source = source
        self._heard_s = self._now()
        self._say(f"“{self.bound.name}” is back" + (f" on {port}." if port else "."), alive=True)
        return True


def _shifted(batch: Batch, zero_s: float) -> Batch:
    return Batch(
        batch.stream,
        np.asarray(batch.raw, dtype=np.float64),
        np.asarray(batch.arrival_s, dtype=np.float64) - zero_s,
        None if batch.device_s is None else np.asarray(batch.device_s, dtype=np.float64),
        batch.lost_before,
    )
