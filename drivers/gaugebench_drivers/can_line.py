"""A CAN bus for drivers: a serial adapter read by ourselves, or whatever python-can knows."""

from __future__ import annotations

import time
from collections.abc import Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, Protocol

from pydantic import Field, model_validator

from gaugebench.driver import Clock, Reject
from gaugebench.errors import SourceError, SourceLost
from gaugebench.wire.slcan import (
    BITRATES,
    CLOSING,
    CanFrame,
    SlcanDecoder,
    encode,
    opening,
)
from gaugebench_drivers.serial_port import SerialOptions, SerialPort

if TYPE_CHECKING:
    import can

NEEDS = {"can": "gaugebench[can]"}
MOST_FRAMES = 2000
"""Taken in one read, so that a flooded bus cannot hold a reader for good."""

Received = tuple[Sequence[tuple[CanFrame, float]], Sequence[Reject]]


class CanOptions(SerialOptions):
    """What every CAN driver can be told about its bus."""

    port: str = Field(
        min_length=1,
        description="the adapter's serial port (slcan), or the name of the bus, for example can0",
    )
    interface: str = Field(
        "socketcan", min_length=1, description="slcan, socketcan, or another that python-can knows"
    )
    bitrate: int = Field(250_000, ge=10_000, le=1_000_000, description="speed of the bus, bit/s")

    @model_validator(mode="after")
    def _fits(self) -> CanOptions:
        if self.interface == "slcan" and self.bitrate not in BITRATES:
            rates = ", ".join(str(rate) for rate in BITRATES)
            raise ValueError(f"an slcan adapter runs at {rates} bit/s")
        return self


class CanLine(Protocol):
    """An open bus."""

    def receive(self, timeout_s: float) -> Received:
        """Frames with their arrival, and what was unreadable. Raises `SourceLost`."""

    def send(self, frame: CanFrame) -> None:
        """Send a frame. Raises `SourceLost`."""

    def close(self) -> None:
        """Let go of the bus. May be called twice."""


def open_can(options: CanOptions, clock: Clock, *, listen_only: bool) -> CanLine:
    """Open the bus. Raises `SourceError`."""
    if options.interface == "slcan":
        return SlcanLine(options, clock, listen_only=listen_only)
    return PythonCanLine(options, clock)


class SlcanLine:
    """A serial adapter. python-can's own takes a byte at a time and trusts what it reads."""

    def __init__(self, options: CanOptions, clock: Clock, *, listen_only: bool) -> None:
        self._clock = clock
        self._decoder = SlcanDecoder()
        self._port = SerialPort(options)
        self._port.write(opening(options.bitrate, listen_only=listen_only))

    def receive(self, timeout_s: float) -> Received:
        """See `CanLine`."""
        data = self._port.read(timeout_s)
        now = self._clock.now()
        found = self._decoder.feed(data)
        frames = [(f, now) for f in found if isinstance(f, CanFrame)]
        return frames, [Reject(f.kind, f.raw, now) for f in found if not isinstance(f, CanFrame)]

    def send(self, frame: CanFrame) -> None:
        """See `CanLine`."""
        self._port.write(encode(frame))

    def close(self) -> None:
        """See `CanLine`."""
        with suppress(SourceLost):  # it may be gone, which is what was asked for
            self._port.write(CLOSING)
        with suppress(SourceLost):
            self._port.close()


class PythonCanLine:
    """A bus that python-can knows."""

    def __init__(self, options: CanOptions, clock: Clock) -> None:
        import can

        self._clock = clock
        self._name = options.port
        self._fault = (can.CanError, OSError)
        self._bus: can.BusABC | None = None
        try:
            self._bus = can.Bus(
                channel=options.port, interface=options.interface, bitrate=options.bitrate
            )
        except (*self._fault, ValueError, ImportError, NotImplementedError) as fault:
            raise SourceError(
                f"The CAN bus {options.port} ({options.interface}) cannot be opened: {fault}."
            ) from fault

    def receive(self, timeout_s: float) -> Received:
        """See `CanLine`."""
        frames: list[tuple[CanFrame, float]] = []
        rejects: list[Reject] = []
        wait = timeout_s
        while len(frames) + len(rejects) < MOST_FRAMES:
            message = self._next(wait)
            if message is None:
                break
            wait = 0.0
            now = self._clock.now()
            if message.is_error_frame:
                rejects.append(Reject("bus error", bytes(message.data), now))
            elif not message.is_remote_frame:
                frame = CanFrame(
                    message.arbitration_id, bytes(message.data), message.is_extended_id
                )
                frames.append((frame, now - _age(message)))
        return frames, rejects

    def send(self, frame: CanFrame) -> None:
        """See `CanLine`."""
        import can

        if self._bus is None:
            return
        message = can.Message(
            arbitration_id=frame.identifier, data=frame.data, is_extended_id=frame.extended
        )
        try:
            self._bus.send(message, timeout=0.5)
        except self._fault as fault:
            raise SourceLost(f"The CAN bus {self._name} takes no frame: {fault}.") from fault

    def close(self) -> None:
        """See `CanLine`."""
        bus, self._bus = self._bus, None
        if bus is not None:
            with suppress(*self._fault):  # it may be gone, which is what was asked for
                bus.shutdown()

    def _next(self, wait: float) -> can.Message | None:
        if self._bus is None:
            raise SourceLost(f"The CAN bus {self._name} is closed.")
        try:
            return self._bus.recv(max(0.0, wait))
        except self._fault as fault:
            raise SourceLost(f"The CAN bus {self._name} went away: {fault}.") from fault


def _age(message: can.Message) -> float:
    """How long ago the system received it, s; 0 where the stamp is not of the time of day."""
    age = time.time() - message.timestamp
    return age if 0 < age < 1 else 0.0
