"""Driver `framed-binary`: rows in checksummed frames, for boards that sample fast."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress

import numpy as np
from pydantic import Field

from gaugebench.driver import Batch, Clock, Driver, Input, Notice, Reading, Reject, Source, Stream
from gaugebench.errors import SourceLost
from gaugebench.wire.frame import (
    COUNTER,
    TIME_WRAP_S,
    BadFrame,
    FrameDecoder,
    Hello,
    Samples,
)
from gaugebench_drivers.pending import Pending
from gaugebench_drivers.serial_port import SerialOptions, SerialPort

WRONG_VALUES = "number of values"


class FramedBinaryOptions(SerialOptions):
    """Options of `framed-binary`."""

    columns: tuple[str, ...] | None = Field(
        None,
        min_length=1,
        max_length=64,
        description="names of the values of a row in order; by default the kit's inputs in order",
    )
    rate_hz: float | None = Field(None, gt=0, le=1e6, description="rows a second, if known")


class FramedBinarySource(Source):
    """An open board."""

    def __init__(self, options: FramedBinaryOptions, inputs: Sequence[Input], clock: Clock) -> None:
        self._clock = clock
        units = {i.name: i.unit for i in inputs}
        names = options.columns or tuple(units)
        self._stream = Stream(
            "frames",
            tuple(Input(name, units.get(name, "")) for name in names),
            options.rate_hz,
            TIME_WRAP_S,
            1e-6,
        )
        self._decoder = FrameDecoder()
        self._pending = Pending()
        self._next_row: int | None = None
        self._port = SerialPort(options)

    @property
    def streams(self) -> tuple[Stream, ...]:
        """One stream: the values of a row are sampled together."""
        return (self._stream,)

    def read(self, timeout_s: float) -> Reading:
        """The rows that arrived; see `Source.read`."""
        if not self._pending:
            data = self._port.read(timeout_s)
            now = self._clock.now()
            self._sort(self._decoder.feed(data), now)
        return self._pending.take()

    def close(self) -> Reading:
        """Let go of the port; half a frame still held is handed back as a reject."""
        self._sort(self._decoder.finish(), self._clock.now())
        with suppress(SourceLost):  # it is gone, which is what was asked for
            self._port.close()
        return self._pending.take_all()

    def _sort(self, frames: Sequence[Samples | Hello | BadFrame], now: float) -> None:
        run: list[Samples] = []
        lost = 0
        for frame in frames:
            if isinstance(frame, Samples) and frame.values.shape[1] == len(self._stream.inputs):
                missed = self._missed(frame)
                if missed or missed is None:
                    self._put(run, lost, now)
                    run, lost = [], missed or 0
                if missed is None:
                    self._pending.notice(Notice("the board counts anew", now, restarted=True))
                run.append(frame)
                self._next_row = (frame.first_row + len(frame.values)) % COUNTER
            elif isinstance(frame, Samples):
                self._pending.reject(Reject(WRONG_VALUES, b"", now))
            elif isinstance(frame, BadFrame):
                self._pending.reject(Reject(frame.kind, frame.raw, now))
            else:
                self._put(run, lost, now)
                run, lost = [], 0
                self._next_row = None
                self._pending.notice(Notice(frame.text, now, restarted=True))
        self._put(run, lost, now)

    def _missed(self, frame: Samples) -> int | None:
        """Rows lost before this frame; None where its number can only mean a restart."""
        if self._next_row is None:
            return 0
        ahead = (frame.first_row - self._next_row) % COUNTER
        return ahead if ahead < COUNTER // 2 else None

    def _put(self, run: list[Samples], lost: int, now: float) -> None:
        if not run:
            return
        device = [f.time_s + f.step_s * np.arange(len(f.values)) for f in run]
        raw = np.concatenate([f.values for f in run])
        # A frame that spans the roll-over counts on beyond it; the contract wants time as sent.
        times = np.concatenate(device) % TIME_WRAP_S
        self._pending.batch(Batch(0, raw, np.full(len(raw), now), times, lost))


class FramedBinary(Driver[FramedBinaryOptions]):
    """Checksummed frames."""

    name = "framed-binary"
    summary = "checksummed frames from a board that samples fast (encoder in drivers/firmware)"
    options = FramedBinaryOptions

    def open(self, options: FramedBinaryOptions, inputs: Sequence[Input], clock: Clock) -> Source:
        """Open the board's port. Raises `SourceError`."""
        return FramedBinarySource(options, inputs, clock)


DRIVER = FramedBinary()
