"""The recorder: takes events from the reader threads, writes them on a thread of its own, seals."""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable
from pathlib import Path

from gaugebench.errors import RecordError
from gaugebench.model.block import Block
from gaugebench.model.event import Event, GapSeen, Setup
from gaugebench.model.trace import Gap
from gaugebench.store.disk import Disk, RealDisk
from gaugebench.store.frames import Kind
from gaugebench.store.joining import joined
from gaugebench.store.journal import JournalWriter
from gaugebench.store.names import free_name, journal_of
from gaugebench.store.payload import encode
from gaugebench.store.recordstate import Phase, RecordState
from gaugebench.store.recover import recover
from gaugebench.store.room import expected_rate, hours_left
from gaugebench.store.seal import seal

SYNC_EVERY_S = 0.15
"""So that, with the gathering and the sync itself, none waits over 250 ms on a healthy disk."""
GATHER_S = 0.05
"""How long rows are gathered before they are written together."""
RETRY_EVERY_S = 0.5
SLOW_AFTER_S = 1.0
LOOK_EVERY_S = 1.0
MEMORY_BYTES = 256 << 20
"""What may wait in memory while the disk takes nothing: at 8 channels x 1 kHz, 45 minutes."""
BATCH_BYTES = 4 << 20
SETTLED_AFTER_S = 1.0
"""From when the rate of writing is taken as it is rather than as it is expected to be."""


class Recorder:
    """One record, from construction to `stop`.

    `put` may be called from any thread and never waits for the disk. target: the trace to make,
    `NAME.h5`; a taken name gets a number. memory_bytes: what may wait while the disk takes
    nothing; beyond it blocks are given up, counted, and shown as a gap.
    """

    def __init__(
        self,
        target: Path,
        setup: Setup,
        *,
        disk: Disk | None = None,
        memory_bytes: int = MEMORY_BYTES,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        """Make the journal. Raises `RecordError` where the folder does not allow it."""
        self._disk = disk or RealDisk()
        self._clock = clock
        self._setup = setup
        self._path = free_name(target, taken=_is_taken)
        self._memory_bytes = memory_bytes
        self._journal = JournalWriter(journal_of(self._path), setup, self._disk)
        self._wake = threading.Condition()
        self._queue: deque[Event] = deque()
        self._waiting_bytes = 0
        self._stopping = False
        self._sealed: Path | None = None
        self._sealing = False
        self._let_go = False
        self._fault: Exception | None = None
        self._trouble: str | None = None
        self._gone: str | None = None
        self._busy_since: float | None = None
        self._free: int | None = None
        self._first_s = float("inf")
        self._last_s = float("-inf")
        self._samples = 0
        self._lost = 0
        self._last_kept: dict[int, float] = {}
        self._given_up: dict[int, tuple[float, int]] = {}
        self._thread = threading.Thread(target=self._run, name="gaugebench-recorder", daemon=True)
        self._thread.start()

    def put(self, event: Event) -> None:
        """Take an event in; a block is counted as lost where memory is full."""
        size = _size(event)
        with self._wake:
            if self._stopping:
                raise RuntimeError("the recorder was stopped")
            if isinstance(event, Block):
                if not len(event):
                    return
                if self._waiting_bytes + size > self._memory_bytes:
                    self._give_up(event)
                    return
                self._explain_loss(event)
                self._samples += event.raw.size
                self._first_s = min(self._first_s, float(event.times[0]))
                self._last_s = max(self._last_s, float(event.times[-1]))
                self._last_kept[event.stream] = float(event.times[-1])
            self._queue.append(event)
            self._waiting_bytes += size
            self._wake.notify()

    @property
    def state(self) -> RecordState:
        """How the record does. Never waits for the disk."""
        with self._wake:
            seconds = max(0.0, self._last_s - self._first_s)
            trouble = self._told_trouble()
            return RecordState(
                phase=self._phase(trouble),
                path=self._sealed or self._path,
                seconds=seconds,
                samples=self._samples,
                bytes=self._journal.bytes_written,
                free_bytes=self._free,
                hours_left=self._hours_left(seconds),
                queue=len(self._queue),
                waiting_bytes=self._waiting_bytes,
                lost=self._lost,
                trouble=trouble,
            )

    def stop(self, timeout_s: float = 30.0) -> Path:
        """Write what waits, seal the trace, and the path it became.

        Raises `RecordError` where the disk does not take the rest within `timeout_s` or sealing
        fails; the record is then safe in memory or in the journal, and `stop` may be called again.
        """
        if self._sealed is not None:
            return self._sealed
        with self._wake:
            self._stopping = True
            self._wake.notify()
        self._thread.join(timeout_s)
        if self._thread.is_alive():
            state = self.state
            waiting = max(1, state.waiting_bytes // 1000)
            raise RecordError(
                f"{state.trouble or 'The disk has not taken the end of the record.'} "
                f"The last {waiting} kB are still in memory; put it right and stop again."
            )
        if self._fault is not None:
            raise self._fault
        self._sealing = True
        try:
            # Once let go, the journal is like one that a crash left behind.
            again = self._let_go
            folder = self._journal.folder
            self._sealed = recover(folder) if again else seal(folder, self._path)
        finally:
            self._sealing = False
            self._let_go = True
            self._journal.release()
        return self._sealed

    def _give_up(self, block: Block) -> None:
        self._lost += block.raw.size
        since, rows = self._given_up.get(
            block.stream, (self._last_kept.get(block.stream, float(block.times[0])), 0)
        )
        self._given_up[block.stream] = (since, rows + len(block))

    def _explain_loss(self, block: Block) -> None:
        lost = self._given_up.pop(block.stream, None)
        if lost is None:
            return
        name = self._setup.streams[block.stream].name
        why = "the disk took nothing and memory was full"
        seen = GapSeen(Gap(name, lost[0], float(block.times[0]), lost[1], why))
        self._queue.append(seen)
        self._waiting_bytes += _size(seen)

    def _told_trouble(self) -> str | None:
        if self._fault is not None:
            return f"The recorder failed: {self._fault}."
        if self._trouble is not None:
            return self._trouble
        if self._gone is not None:
            return self._gone
        since = self._busy_since
        waited = self._clock() - since if since is not None else 0.0
        if waited > SLOW_AFTER_S:
            return (
                f"The disk of {self._path.parent} has not finished a write for {waited:.0f} s; "
                "samples wait in memory."
            )
        return None

    def _phase(self, trouble: str | None) -> Phase:
        if self._sealed is not None:
            return Phase.DONE
        if self._sealing:
            return Phase.SEALING
        return Phase.TROUBLE if trouble else Phase.RECORDING

    def _hours_left(self, seconds: float) -> float | None:
        if self._free is None:
            return None
        written = self._journal.bytes_written
        if seconds < SETTLED_AFTER_S:
            return hours_left(self._free, expected_rate(self._setup.streams), written)
        return hours_left(self._free, written / seconds, written) if written else None

    def _run(self) -> None:
        try:
            self._write_until_stopped()
        except Exception as fault:  # noqa: BLE001 - kept, shown by state and raised by stop
            self._fault = fault

    def _write_until_stopped(self) -> None:
        synced = looked = self._clock()
        self._look_at_disk()
        while True:
            batch, last = self._next_batch(synced + SYNC_EVERY_S - self._clock())
            frames = [self._journal.pack(*encode(event)) for event in joined(batch)]
            if last:
                frames.append(self._journal.pack(Kind.END, b""))
            now = self._clock()
            due = last or now >= synced + SYNC_EVERY_S
            self._write(frames, sync=due)
            with self._wake:
                self._waiting_bytes -= sum(map(_size, batch))
            if due:
                synced = self._clock()
            if now >= looked + LOOK_EVERY_S:
                looked = now
                self._look_at_disk()
            if last:
                self._journal.close()
                return

    def _next_batch(self, wait_s: float) -> tuple[list[Event], bool]:
        """What waits, up to a bound, and whether it is the last of it."""
        with self._wake:
            if not self._queue and not self._stopping:
                self._wake.wait(max(0.0, wait_s))
            self._wake.wait_for(self._has_enough, GATHER_S)
            batch: list[Event] = []
            taken = 0
            while self._queue and taken < BATCH_BYTES:
                batch.append(self._queue.popleft())
                taken += _size(batch[-1])
            return batch, self._stopping and not self._queue

    def _has_enough(self) -> bool:
        return self._stopping or self._waiting_bytes >= BATCH_BYTES or not self._queue

    def _write(self, frames: list[bytes], *, sync: bool) -> None:
        """Write; on trouble say so and try again until the disk takes it."""
        self._busy_since = self._clock()
        try:
            self._journal.append(frames)
            if sync:
                self._journal.sync()
        except OSError as fault:
            self._trouble = self._sentence(fault)
            self._keep_trying()
        self._busy_since = None
        self._trouble = None

    def _keep_trying(self) -> None:
        while True:
            time.sleep(RETRY_EVERY_S)
            try:
                self._journal.retry()
            except OSError as fault:
                self._trouble = self._sentence(fault)
                self._look_at_disk()
            else:
                return

    def _sentence(self, fault: OSError) -> str:
        why = fault.strerror or str(fault)
        return (
            f"The record cannot be written in {self._path.parent}: {why}; samples wait in memory "
            "until the disk takes them, so free some space or put the drive back."
        )

    def _look_at_disk(self) -> None:
        try:
            self._free = self._disk.free_bytes(self._journal.folder)
        except OSError as fault:
            # A drive that was taken off under an open file may take writes all the same.
            self._free = None
            self._gone = (
                f"The folder {self._journal.folder} is not to be found any more "
                f"({fault.strerror or fault}), though the record can still be written; put the "
                "drive back before you stop."
            )
        else:
            self._gone = None


def _is_taken(path: Path) -> bool:
    return path.exists() or journal_of(path).exists()


def _size(event: Event) -> int:
    if isinstance(event, Block):
        return event.times.nbytes + event.raw.nbytes + event.quality.nbytes + 100
    return 400
