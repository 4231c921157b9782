"""CAN frames as lines of text, as serial CAN adapters send them (SLCAN).

`t` and three hexadecimal digits for an 11-bit identifier, or `T` and eight for a 29-bit one; one
digit for the number of bytes, the bytes, optionally four digits of time; then CR. `r` and `R` ask
for a frame and carry no data.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

MAX_LINE = 64
BITRATES = {
    10_000: "S0", 20_000: "S1", 50_000: "S2", 100_000: "S3", 125_000: "S4", 250_000: "S5",
    500_000: "S6", 800_000: "S7", 1_000_000: "S8",
}  # fmt: skip
_FRAME = re.compile(rb"(?:t([0-7][0-9A-F]{2})|T([01][0-9A-F]{7}))([0-8])((?:[0-9A-F]{2})*)", re.I)
_NO_DATA = re.compile(rb"(?:[rR][0-9A-Fa-f]{4,13}|[zZ]|[VvNF][0-9A-Fa-z]{0,12}|)")
FIRST_LINE = "first line"
NOT_A_FRAME = "not a frame"
REFUSED = "refused by the adapter"
TOO_LONG = "too long"


@dataclass(frozen=True, slots=True)
class CanFrame:
    """A data frame: identifier of 11 or 29 bits (`extended`) and up to 8 bytes."""

    identifier: int
    data: bytes
    extended: bool = False


@dataclass(frozen=True, slots=True)
class BadLine:
    """A line that is no frame and no answer."""

    kind: str
    raw: bytes


class SlcanDecoder:
    """Incremental decoder: feed it bytes as they come, cut anywhere. Memory is bounded."""

    def __init__(self) -> None:
        self._held = b""
        self._skipping = False
        self._started = False

    def feed(self, data: bytes) -> list[CanFrame | BadLine]:
        """The frames and the unreadable lines that these bytes complete."""
        *lines, self._held = re.split(rb"[\r\n]", (self._held + data).replace(b"\x07", b"\x07\r"))
        found: list[CanFrame | BadLine] = []
        for line in lines:
            if self._skipping:
                self._skipping = False
            elif (read := _read(line)) is not None:
                if isinstance(read, BadLine) and not self._started:
                    read = BadLine(FIRST_LINE, read.raw)
                found.append(read)
            self._started = True
        if len(self._held) > MAX_LINE:
            if not self._skipping:
                found.append(BadLine(TOO_LONG, self._held[:MAX_LINE]))
            self._held, self._skipping = b"", True
        return found


def encode(frame: CanFrame) -> bytes:
    """The line for a frame."""
    head = f"T{frame.identifier:08X}" if frame.extended else f"t{frame.identifier:03X}"
    return f"{head}{len(frame.data)}{frame.data.hex().upper()}\r".encode()


def opening(bitrate: int, *, listen_only: bool) -> bytes:
    """What to send to an adapter to set it going. Raises `ValueError` for an unknown bit rate."""
    if bitrate not in BITRATES:
        rates = ", ".join(str(rate) for rate in BITRATES)
        raise ValueError(f"an adapter of this kind runs at {rates} bit/s, not at {bitrate}")
    return f"\rC\r{BITRATES[bitrate]}\r{'L' if listen_only else 'O'}\r".encode()


CLOSING = b"C\r"


def _read(line: bytes) -> CanFrame | BadLine | None:
    line = line.strip()
    if line.endswith(b"\x07"):
        return BadLine(REFUSED, line)
    if _NO_DATA.fullmatch(line):
        return None
    match = _FRAME.fullmatch(line)
    if match is None:
        return BadLine(NOT_A_FRAME, line[:MAX_LINE])
    data = bytes.fromhex(match[4].decode())
    count = int(match[3])
    if len(data) not in {count, count + 2}:  # two bytes more: the adapter's time
        return BadLine(NOT_A_FRAME, line[:MAX_LINE])
    identifier = int(match[1] or match[2], 16)
    return CanFrame(identifier, data[:count], extended=match[2] is not None)
