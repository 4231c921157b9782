"""What carries a practice board's bytes: a pseudo-terminal, a serial CAN adapter, a virtual bus."""

from __future__ import annotations

import os
import select
import struct
from typing import Any, Protocol
from uuid import uuid4

from gaugebench.errors import SourceError
from gaugebench.wire.slcan import CanFrame, SlcanDecoder, encode


class Carrier(Protocol):
    """One end of a line; a driver opens the other."""

    port: str

    def options(self) -> dict[str, Any]:
        """What the kit file must tell the driver of the line, besides its port."""

    def write(self, data: bytes) -> int:
        """How many of the bytes it takes now; 0 where there is no room, or nobody to take them."""

    def read(self, timeout_s: float) -> bytes:
        """What the other end sent, after `timeout_s` at the latest."""

    def is_waiting(self) -> bool:
        """Whether the other end has not yet taken what was said."""

    def close(self) -> None:
        """Take the line away. May be called twice."""


class Terminal:
    """A pseudo-terminal. Raises `SourceError` where the system has none (Windows)."""

    def __init__(self) -> None:
        if os.name != "posix":
            raise SourceError(
                "This system has no pseudo-terminals; use the driver “practice” instead."
            )
        import pty
        import tty

        self._end, self._kept = pty.openpty()
        tty.setraw(self._kept)
        os.set_blocking(self._end, False)
        # The kept end stays open, so that a reader may come and go as at a real port.
        self.port = os.ttyname(self._kept)
        self._closed = False

    def options(self) -> dict[str, Any]:
        """See `Carrier`."""
        return {}

    def write(self, data: bytes) -> int:
        """See `Carrier`."""
        try:
            return os.write(self._end, data)
        except BlockingIOError:
            return 0

    def read(self, timeout_s: float) -> bytes:
        """See `Carrier`."""
        ready, _, _ = select.select([self._end], [], [], timeout_s)
        return os.read(self._end, 4096) if ready else b""

    def is_waiting(self) -> bool:
        """See `Carrier`."""
        import fcntl
        import termios

        answer = fcntl.ioctl(self._kept, termios.FIONREAD, struct.pack("i", 0))
        return int(struct.unpack("i", answer)[0]) > 0

    def close(self) -> None:
        """See `Carrier`."""
        if not self._closed:
            self._closed = True
            os.close(self._end)
            os.close(self._kept)


class SerialAdapter(Terminal):
    """A serial CAN adapter on a pseudo-terminal: frames pass once it was told to open the bus."""

    def __init__(self) -> None:
        super().__init__()
        self._held = self._frames = b""
        self._is_open = self._is_silent = False

    def options(self) -> dict[str, Any]:
        """See `Carrier`."""
        return {"interface": "slcan"}

    def write(self, data: bytes) -> int:
        """See `Carrier`."""
        return super().write(data) if self._is_open else 0

    def read(self, timeout_s: float) -> bytes:
        """The frames that came, as lines; the adapter's own commands are answered here."""
        self._take(timeout_s)
        frames, self._frames = self._frames, b""
        return frames

    def is_waiting(self) -> bool:
        """See `Carrier`."""
        self._take(0.0)
        return not self._is_open or super().is_waiting()

    def _take(self, timeout_s: float) -> None:
        *lines, self._held = (self._held + super().read(timeout_s)).split(b"\r")
        for line in lines:
            is_frame = line[:1] in (b"t", b"T")
            if is_frame and self._is_open and not self._is_silent:
                self._frames += line + b"\r"
                super().write(b"z\r" if line[:1] == b"t" else b"Z\r")
            else:
                super().write(b"\r" if self._obey(line) else b"\x07")

    def _obey(self, line: bytes) -> bool:
        match line[:1]:
            case b"O" | b"L":
                self._is_open, self._is_silent = True, line[:1] == b"L"
            case b"C":
                self._is_open = False
            case b"S":
                return len(line) == 2 and line[1:].isdigit() and not self._is_open
            case _:
                return not line
        return True


class VirtualBus:
    """A bus of python-can that joins parts of one program. Bytes are frames as SLCAN lines."""

    def __init__(self) -> None:
        import can

        self.port = f"practice-{uuid4().hex}"
        self._bus = can.Bus(interface="virtual", channel=self.port)
        self._decoder = SlcanDecoder()

    def options(self) -> dict[str, Any]:
        """See `Carrier`."""
        return {"interface": "virtual"}

    def write(self, data: bytes) -> int:
        """See `Carrier`."""
        import can

        for frame in self._decoder.feed(data):
            if isinstance(frame, CanFrame):
                self._bus.send(
                    can.Message(
                        arbitration_id=frame.identifier,
                        data=frame.data,
                        is_extended_id=frame.extended,
                    )
                )
        return len(data)

    def read(self, timeout_s: float) -> bytes:
        """See `Carrier`."""
        message = self._bus.recv(timeout_s)
        if message is None:
            return b""
        return encode(CanFrame(message.arbitration_id, bytes(message.data), message.is_extended_id))

    def is_waiting(self) -> bool:
        """See `Carrier`; a bus does not know who listens."""
        return False

    def close(self) -> None:
        """See `Carrier`."""
        self._bus.shutdown()
