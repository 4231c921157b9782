"""The Firmata protocol, as far as analog inputs go (github.com/firmata/protocol, protocol.md)."""

from __future__ import annotations

from dataclasses import dataclass

START_SYSEX, END_SYSEX = 0xF0, 0xF7
ANALOG, DIGITAL, REPORT_ANALOG = 0xE0, 0x90, 0xC0
VERSION, RESET = 0xF9, 0xFF
STRING, FIRMWARE, SAMPLING_INTERVAL = 0x71, 0x79, 0x7A
DEFAULT_INTERVAL_MS = 19
MAX_SYSEX = 512
_LENGTHS = {ANALOG: 2, DIGITAL: 2, 0xC0: 1, 0xD0: 1}


@dataclass(frozen=True, slots=True)
class Analog:
    """An analog input's reading: pin 0 to 15, value 0 to 16383."""

    pin: int
    value: int


@dataclass(frozen=True, slots=True)
class Version:
    """The protocol version; a board sends it when it starts, and when asked."""

    major: int
    minor: int


@dataclass(frozen=True, slots=True)
class Text:
    """What the board says: its firmware's name, or a message."""

    text: str


@dataclass(frozen=True, slots=True)
class Bad:
    """Bytes that belong to no message."""

    kind: str
    raw: bytes


Message = Analog | Version | Text | Bad


class FirmataDecoder:
    """Incremental decoder: feed it bytes as they come, cut anywhere. Memory is bounded."""

    def __init__(self) -> None:
        self._held = bytearray()
        self._stray = bytearray()

    def feed(self, data: bytes) -> list[Message]:
        """The messages that these bytes complete; those that do not concern us are left out."""
        found: list[Message] = []
        for byte in data:
            if byte & 0x80 and self._held and not self._ends(byte):
                # A command in the middle of a message: the message was cut short.
                found.append(Bad("cut short", bytes(self._held)))
                self._held.clear()
            if not self._held and (byte < 0x80 or byte == END_SYSEX):
                self._stray.append(byte)
                if len(self._stray) >= MAX_SYSEX:
                    found.append(self._strays())
                continue
            if self._stray:
                found.append(self._strays())
            self._held.append(byte)
            if self._is_complete():
                message = _message(bytes(self._held))
                self._held.clear()
                if message is not None:
                    found.append(message)
            elif len(self._held) > MAX_SYSEX:
                found.append(Bad("too long", bytes(self._held)))
                self._held.clear()
        if self._stray:
            found.append(self._strays())
        return found

    def _strays(self) -> Bad:
        bad = Bad("stray bytes", bytes(self._stray))
        self._stray.clear()
        return bad

    def _ends(self, byte: int) -> bool:
        return byte == END_SYSEX and self._held[0] == START_SYSEX

    def _is_complete(self) -> bool:
        command = self._held[0]
        if command == START_SYSEX:
            return self._held[-1] == END_SYSEX
        if command == VERSION:
            return len(self._held) == 3
        return len(self._held) == 1 + _LENGTHS.get(command & 0xF0, 0)


def report_analog(pin: int, *, on: bool) -> bytes:
    """Ask for an analog input's readings (pin 0 to 15), or for no more of them."""
    return bytes([REPORT_ANALOG | pin, int(on)])


def sampling_interval(milliseconds: int) -> bytes:
    """Set the time between two readings, 1 to 16383 ms."""
    low, high = milliseconds & 0x7F, milliseconds >> 7
    return bytes([START_SYSEX, SAMPLING_INTERVAL, low, high, END_SYSEX])


def encode_analog(pin: int, value: int) -> bytes:
    """What a board sends for a reading."""
    return bytes([ANALOG | pin, value & 0x7F, value >> 7])


ASK_VERSION = bytes([VERSION])


def _message(data: bytes) -> Message | None:
    kind = data[0] & 0xF0
    if kind == ANALOG:
        return Analog(data[0] & 0x0F, data[1] | data[2] << 7)
    if data[0] == VERSION:
        return Version(data[1], data[2])
    if data[0] != START_SYSEX:
        return None
    body = data[1:-1]
    if body[:1] == bytes([STRING]):
        return Text(_text(body[1:]))
    if body[:1] == bytes([FIRMWARE]) and len(body) > 3:
        return Text(f"{_text(body[3:])} {body[1]}.{body[2]}")
    return None


def _text(pairs: bytes) -> str:
    """Characters as pairs of 7 bits."""
    values = [low | high << 7 for low, high in zip(pairs[::2], pairs[1::2], strict=False)]
    return bytes(v & 0xFF for v in values).decode("utf-8", "replace")
