"""A serial port for drivers: bulk reads, and the contract's errors only."""

from __future__ import annotations

from typing import Literal

import serial
from pydantic import Field

from gaugebench.driver import PortOptions
from gaugebench.errors import SourceError, SourceLost

try:
    from termios import error as _TermiosError  # noqa: N812 - it is an error, oddly written
except ImportError:  # not on Windows

    class _TermiosError(Exception):  # type: ignore[no-redef]
        """Stands where the system has no termios."""


BULK = 65_536
"""The most bytes taken in one read: what the system holds for a port is far less."""

_LOST = (serial.SerialException, OSError, _TermiosError, TypeError)
# pyserial raises TypeError where the port was closed under a read.


class SerialOptions(PortOptions):
    """What every serial driver can be told about its line."""

    baud: int = Field(115_200, ge=50, le=12_000_000, description="speed of the line, bits a second")
    parity: Literal["none", "even", "odd"] = Field("none", description="parity bit of the line")
    stop_bits: Literal[1, 2] = Field(1, description="stop bits of the line")
    dtr: bool = Field(
        default=True,
        description="raise the DTR line: boards with native USB send only then; on others opening "
        "the port resets the board",
    )
    rts: bool = Field(default=True, description="raise the RTS line")


class SerialPort:
    """An open port. Reading takes whatever is there, never waits longer than told."""

    def __init__(self, options: SerialOptions) -> None:
        """Open the port for this program alone. Raises `SourceError`."""
        self.name = options.port
        self._wait_s = 0.1
        port = serial.Serial()
        port.port = options.port
        port.baudrate = options.baud
        port.parity = options.parity[0].upper()
        port.stopbits = options.stop_bits
        port.timeout = self._wait_s
        port.write_timeout = 1.0
        port.exclusive = True
        port.dtr = options.dtr
        port.rts = options.rts
        try:
            port.open()
        except (*_LOST, ValueError) as fault:
            port.close()
            raise SourceError(f"The port {self.name} cannot be opened: {fault}.") from fault
        self._port = port

    def read(self, timeout_s: float) -> bytes:
        """What has arrived, waiting at most `timeout_s` for the first byte. Raises `SourceLost`."""
        try:
            waiting = self._port.in_waiting
            if waiting == 0:
                if timeout_s <= 0:
                    return b""
                if timeout_s != self._wait_s:  # setting it costs a system call or three
                    self._port.timeout = self._wait_s = timeout_s
                first: bytes = self._port.read(1)
                if not first:
                    return b""
                waiting = min(self._port.in_waiting, BULK)
                return first + (self._port.read(waiting) if waiting else b"")
            data: bytes = self._port.read(min(waiting, BULK))
        except _LOST as fault:
            raise SourceLost(
                f"The port {self.name} went away: {fault}; check its plug and cable."
            ) from fault
        return data

    def write(self, data: bytes) -> None:
        """Send bytes. Raises `SourceLost`."""
        try:
            self._port.write(data)
        except _LOST as fault:
            raise SourceLost(
                f"The port {self.name} takes no data: {fault}; check its plug and cable."
            ) from fault

    def forget_input(self) -> None:
        """Throw away what has arrived and was not read. Raises `SourceLost`."""
        try:
            self._port.reset_input_buffer()
        except _LOST as fault:
            raise SourceLost(f"The port {self.name} went away: {fault}.") from fault

    def close(self) -> None:
        """Let go of the port. May be called twice, and on a port that went away."""
        try:
            self._port.close()
        except _LOST as fault:
            raise SourceLost(f"The port {self.name} went away: {fault}.") from fault
