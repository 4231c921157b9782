"""One visit's session: sources open, rings filling, marks found, and a record when asked for."""

from __future__ import annotations

import threading
from datetime import UTC, datetime
from pathlib import Path

from gaugebench.acquire.acquisition import Acquisition, SourceHealth
from gaugebench.acquire.clock import SystemClock
from gaugebench.acquire.ring import Samples
from gaugebench.analyse.settings import Settings
from gaugebench.driver import Clock
from gaugebench.errors import RecordError
from gaugebench.model.block import Block
from gaugebench.model.channel import StreamSpec
from gaugebench.model.event import Event, MarkSet, Setup
from gaugebench.model.kit import Kit
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.trace import Particulars
from gaugebench.session.awake import Awake
from gaugebench.session.backlog import Backlog
from gaugebench.session.finish import add_figures
from gaugebench.session.live import Live, StallNow
from gaugebench.store.recorder import Recorder
from gaugebench.store.recordstate import RecordState


class Session:
    """From opening the kit to closing it. Every method may be called from the window's thread.

    folder: where records go. pretrigger_s: how much of what came before record was pressed
    belongs to the record. settings: of the figures, such as a sheet's control sense.
    """

    def __init__(
        self,
        kit: Kit,
        folder: Path,
        clock: Clock | None = None,
        pretrigger_s: float = 10.0,
        settings: Settings | None = None,
    ) -> None:
        self.kit = kit
        self.folder = folder
        self._settings = settings or Settings()
        self._clock = clock or SystemClock()
        self._lock = threading.Lock()
        self._backlog = Backlog(pretrigger_s)
        self._recorder: Recorder | None = None
        self._awake = Awake()
        self._live: Live | None = None
        self._acquisition = Acquisition(kit, self._clock, self._take)
        self._zero_s = 0.0
        self._started = datetime.now(UTC)
        self._notes = 0
        self._final_marks: tuple[Mark, ...] = ()

    def open(self) -> None:
        """Open every source and begin to read. Raises `SourceError`, `DriverError`, `KitError`."""
        self._zero_s = self._clock.now()
        self._started = datetime.now(UTC).astimezone()
        self._acquisition.start()
        # Blocks that came before this line wait in the backlog; they are few and all are shown.
        with self._lock:
            self._live = Live(self._acquisition.streams, self._record_mark, self._settings)
            waiting = [e for e in self._backlog.events() if isinstance(e, Block)]
            for block in waiting:
                self._live.take(block)

    def close(self) -> None:
        """Stop reading and let go of the sources; a record still running is sealed first."""
        self._acquisition.stop()
        try:
            if self._recorder is not None:
                self.stop_recording()
        finally:
            if self._live is not None:
                self._live.close()
                self._final_marks = self._live.marks()
                self._live = None

    @property
    def streams(self) -> tuple[StreamSpec, ...]:
        """What is delivered, known once open."""
        return self._acquisition.streams

    @property
    def simulated(self) -> bool:
        """Whether the kit, or a source of it, is not on a machine."""
        return self.kit.simulated or self._acquisition.simulated

    def now_s(self) -> float:
        """The session clock, s since `open`."""
        return self._clock.now() - self._zero_s

    def window(self, stream: int, seconds: float) -> Samples:
        """Copies of the last `seconds` of a stream, values in the inside unit."""
        if self._live is None:
            raise RuntimeError("the session is not open")
        return self._live.window(stream, seconds)

    def marks(self) -> tuple[Mark, ...]:
        """Marks found and set so far, in order of time; after closing, as they ended."""
        return self._live.marks() if self._live is not None else self._final_marks

    def set_settings(self, settings: Settings) -> None:
        """What the figures of loadings still to come, and of records still to stop, go by."""
        self._settings = settings
        if self._live is not None:
            self._live.set_settings(settings)

    @property
    def stall(self) -> StallNow:
        """The present hold of main pressure: whether it has been held long enough to be read."""
        return self._live.stall if self._live is not None else StallNow()

    def health(self) -> tuple[SourceHealth, ...]:
        """How each source does."""
        return self._acquisition.health()

    def use_port(self, source: str, port: str) -> None:
        """Where the user says a lost source is now. Raises `SourceError` for an unknown source."""
        self._acquisition.use_port(source, port)

    def add_mark(self, note: str) -> Mark:
        """Set a mark by hand at this instant; it is part of the record."""
        self._notes += 1
        mark = Mark(f"note/{self._notes}", MarkKind.NOTE, self.now_s(), Standing.BY_HAND, note=note)
        if self._live is not None:
            self._live.add(mark)
        self._record_mark(mark)
        return mark

    def start_recording(
        self, particulars: Particulars | None = None, name: str | None = None
    ) -> None:
        """Begin a record, with the seconds before. Raises `RecordError`."""
        with self._lock:
            if self._recorder is not None:
                raise RecordError("A record is running; stop it before starting another.")
            setup = Setup(
                streams=self.streams,
                started=self._started,
                kit=self.kit.model_dump(mode="json", by_alias=True, exclude_none=True),
                particulars=particulars or Particulars(),
                simulated=self.simulated,
                origin=f"recorded through the kit “{self.kit.name}”",
            )
            stem = name or f"{datetime.now():%Y-%m-%d %H.%M.%S}"  # noqa: DTZ005 - the wall's time
            self._recorder = Recorder(self.folder / f"{stem}.h5", setup)
            for event in self._backlog.events():
                self._recorder.put(event)
        self._awake.begin()

    def stop_recording(self) -> Path:
        """End the record, seal it and add its figures; may take seconds. Raises `RecordError`."""
        with self._lock:
            recorder, self._recorder = self._recorder, None
            if recorder is not None:
                self._backlog.forget()  # else a loading would be in two records, and read twice
        if recorder is None:
            raise RecordError("No record is running.")
        try:
            path = recorder.stop()
        finally:
            self._awake.end()
        add_figures(path, self._settings)
        return path

    @property
    def record_state(self) -> RecordState | None:
        """How the record does, or None where none is running."""
        recorder = self._recorder
        return recorder.state if recorder is not None else None

    def _take(self, event: Event) -> None:
        with self._lock:
            self._backlog.add(event, self.now_s())
            if self._recorder is not None:
                self._recorder.put(event)
            live = self._live
        if live is not None and isinstance(event, Block):
            live.take(event)

    def _record_mark(self, mark: Mark) -> None:
        with self._lock:
            if self._recorder is not None:
                self._recorder.put(MarkSet(mark))
