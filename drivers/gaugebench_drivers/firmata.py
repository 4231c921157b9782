"""Driver `firmata`: boards with stock Firmata firmware, analog inputs at a sampling interval."""

from __future__ import annotations

import re
from collections.abc import Sequence
from contextlib import suppress

import numpy as np
from pydantic import Field

from gaugebench.driver import Batch, Clock, Driver, Input, Notice, Reading, Reject, Source, Stream
from gaugebench.errors import SourceError, SourceLost
from gaugebench.wire.firmata import (
    ASK_VERSION,
    Analog,
    Bad,
    FirmataDecoder,
    Message,
    Text,
    report_analog,
    sampling_interval,
)
from gaugebench_drivers.pending import Pending
from gaugebench_drivers.serial_port import SerialOptions, SerialPort

_PIN = re.compile(r"A(\d|1[0-5])")
ASK_AGAIN_S = 1.0


class FirmataOptions(SerialOptions):
    """Options of `firmata`. The kit's inputs are called A0 to A15; their readings are in V."""

    baud: int = Field(57_600, ge=50, le=12_000_000, description="speed of the line, bits a second")
    interval_ms: int = Field(19, ge=1, le=16_383, description="time between two readings, ms")
    reference_v: float = Field(
        5.0, gt=0, le=50, description="voltage at the converter's full scale"
    )
    bits: int = Field(10, ge=8, le=14, description="resolution of the converter")


class FirmataSource(Source):
    """An open board."""

    def __init__(self, options: FirmataOptions, inputs: Sequence[Input], clock: Clock) -> None:
        self._pins = []
        for wanted in inputs:
            match = _PIN.fullmatch(wanted.name)
            if match is None:
                raise SourceError(f"“{wanted.name}” is no analog input; they are A0 to A15.")
            self._pins.append(int(match[1]))
        self._options = options
        self._clock = clock
        self._step_v = options.reference_v / 2**options.bits
        self._full = 2**options.bits
        self._streams = (
            Stream("analog", tuple(Input(i.name, "V") for i in inputs), 1e3 / options.interval_ms),
        )
        self._decoder = FirmataDecoder()
        self._pending = Pending()
        self._row: dict[int, float] = {}
        self._is_set = False
        self._asked_s = clock.now()
        self._port = SerialPort(options)
        self._set_up()

    @property
    def streams(self) -> tuple[Stream, ...]:
        """One stream: the board reads its inputs in turn at each interval."""
        return self._streams

    def read(self, timeout_s: float) -> Reading:
        """The rows that arrived; see `Source.read`."""
        if not self._pending:
            now = self._clock.now()
            if not self._is_set and now - self._asked_s >= ASK_AGAIN_S:
                self._set_up()  # a board that was reset by opening hears nothing at first
            data = self._port.read(timeout_s)
            self._sort(self._decoder.feed(data), self._clock.now())
        return self._pending.take()

    def close(self) -> Reading:
        """Ask for no more readings and let go of the port."""
        with suppress(SourceLost):  # it may be gone, which is what was asked for
            self._port.write(b"".join(report_analog(pin, on=False) for pin in self._pins))
        with suppress(SourceLost):
            self._port.close()
        return self._pending.take_all()

    def _set_up(self) -> None:
        self._asked_s = self._clock.now()
        self._port.write(
            ASK_VERSION
            + sampling_interval(self._options.interval_ms)
            + b"".join(report_analog(pin, on=True) for pin in self._pins)
        )

    def _sort(self, messages: Sequence[Message], now: float) -> None:
        for message in messages:
            if isinstance(message, Analog):
                self._take(message, now)
            elif isinstance(message, Text):
                self._pending.notice(Notice(message.text, now))
            elif isinstance(message, Bad):
                self._pending.reject(Reject(message.kind, message.raw, now))
            elif now - self._asked_s > ASK_AGAIN_S:
                # A version unasked: the board started anew and does not know what to send.
                self._row.clear()
                self._pending.notice(Notice("the board restarted", now, restarted=True))
                self._set_up()

    def _take(self, reading: Analog, now: float) -> None:
        if reading.pin not in self._pins:
            return
        self._is_set = True
        if reading.pin in self._row:  # the next round begins: some pin of the last did not come
            self._flush(now)
        is_valid = reading.value < self._full
        self._row[reading.pin] = reading.value * self._step_v if is_valid else np.nan
        if len(self._row) == len(self._pins):
            self._flush(now)

    def _flush(self, now: float) -> None:
        row = [self._row.get(pin, np.nan) for pin in self._pins]
        self._pending.batch(Batch(0, np.array([row]), np.array([now])))
        self._row.clear()


class Firmata(Driver[FirmataOptions]):
    """Stock firmware boards."""

    name = "firmata"
    summary = "boards with stock Firmata firmware: analog inputs A0 to A15 in volts"
    options = FirmataOptions

    def open(self, options: FirmataOptions, inputs: Sequence[Input], clock: Clock) -> Source:
        """Open the board's port. Raises `SourceError`."""
        return FirmataSource(options, inputs, clock)


DRIVER = Firmata()
