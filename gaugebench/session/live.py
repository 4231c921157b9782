"""What the live window looks at: conditioned samples in rings, and the marks found so far.

The rings are written on the reader threads. Marks are worked out on a thread of their own, so
that a heavy analysis can never hold a reader up.
"""

from __future__ import annotations

import logging
import queue
import threading
from collections.abc import Callable
from dataclasses import dataclass

from gaugebench.acquire.ring import Ring, Samples
from gaugebench.analyse.live import LiveMarks
from gaugebench.analyse.settings import Settings
from gaugebench.model.arrays import F64, U16
from gaugebench.model.block import Block
from gaugebench.model.channel import StreamSpec
from gaugebench.model.columns import condition
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.session.alarms import Alarms

log = logging.getLogger(__name__)

RING_S = 660.0
"""How much the live window can look back on: its longest window, 10 min, and some."""
FALLBACK_RATE_HZ = 1000.0
QUEUE_BLOCKS = 20_000

_Work = tuple[int, F64, F64, U16]


@dataclass(frozen=True, slots=True)
class StallNow:
    """The present hold, as the marks thread saw it last.

    is_settled: it has been held long enough to be read. held_s: for how long the pressure has
    stood, s. highest_pa: the highest pressure that was held in a loading that has ended, 0 where
    there was none.
    """

    is_settled: bool = False
    held_s: float = 0.0
    highest_pa: float = 0.0


class Live:
    """Rings and live marks of one session.

    on_mark is called on the marks thread for every mark that was set or changed.
    """

    def __init__(
        self,
        streams: tuple[StreamSpec, ...],
        on_mark: Callable[[Mark], None],
        settings: Settings | None = None,
    ) -> None:
        self.streams = streams
        self._rings = tuple(
            Ring(len(s.channels), int(RING_S * (s.rate_hz or FALLBACK_RATE_HZ))) for s in streams
        )
        self._finder = LiveMarks(streams, settings or Settings())
        self._on_mark = on_mark
        self._alarms = Alarms(streams)
        self._marks: dict[str, Mark] = {}
        self._sorted: tuple[Mark, ...] | None = ()
        self._stall = StallNow()
        self._lock = threading.Lock()
        self._work: queue.Queue[_Work | None] = queue.Queue(maxsize=QUEUE_BLOCKS)
        self._last_s = 0.0
        self.skipped = 0
        """Blocks that the marks had no time for; 0 unless the machine is far too slow."""
        self._thread = threading.Thread(target=self._run, name="gaugebench-marks", daemon=True)
        self._thread.start()

    def take(self, block: Block) -> None:
        """Condition a block, put it in its ring and hand it to the marks."""
        values, quality = condition(self.streams[block.stream], block.raw, block.quality)
        self._rings[block.stream].write(block.times, values, quality)
        try:
            self._work.put_nowait((block.stream, block.times, values, quality))
        except queue.Full:
            self.skipped += 1

    def window(self, stream: int, seconds: float) -> Samples:
        """Copies of the last `seconds` of a stream."""
        return self._rings[stream].last(seconds)

    def set_settings(self, settings: Settings) -> None:
        """What the marks of loadings still to come go by."""
        self._finder.settings = settings

    def marks(self) -> tuple[Mark, ...]:
        """The marks as they stand, in order of time; the same tuple until one changes."""
        with self._lock:
            if self._sorted is None:
                self._sorted = tuple(sorted(self._marks.values(), key=lambda m: m.time_s))
            return self._sorted

    def add(self, mark: Mark) -> None:
        """Set a mark by hand."""
        with self._lock:
            self._marks[mark.key] = mark
            self._sorted = None

    @property
    def stall(self) -> StallNow:
        """The present hold; a snapshot, since the marks thread goes on."""
        return self._stall

    def close(self) -> None:
        """End the marks thread after it has worked off what it was given."""
        self._work.put(None)
        self._thread.join(timeout=10)
        if self._thread.is_alive():
            raise RuntimeError("the marks thread did not end")

    def _run(self) -> None:
        try:
            while (work := self._work.get()) is not None:
                stream, times, values, _ = work
                self._last_s = float(times[-1]) if len(times) else self._last_s
                self._keep(self._alarms.look(stream, times, values))
                self._keep(self._finder.feed(*work))
                stall = self._finder.stall
                self._stall = StallNow(
                    stall.held_long_enough, stall.held_s, self._finder.highest_pa
                )
            self._keep(self._finder.finish())
        except Exception as fault:
            # A fault of the program in finding marks must not end a record that cannot be had
            # again: it is logged, and the person is told where he looks for marks.
            log.exception("the marks thread ended")
            self._keep((_ended(fault, self._last_s),))

    def _keep(self, marks: tuple[Mark, ...]) -> None:
        if not marks:
            return
        with self._lock:
            self._marks.update((mark.key, mark) for mark in marks)
            self._sorted = None
        for mark in marks:
            self._on_mark(mark)


def _ended(fault: Exception, time_s: float) -> Mark:
    return Mark(
        key="marks/ended",
        kind=MarkKind.NOTE,
        time_s=time_s,
        standing=Standing.FINAL,
        note=f"No further marks are found live ({type(fault).__name__}); the record goes on and "
        "Review finds them",
    )
