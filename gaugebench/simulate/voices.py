"""How a practice board speaks: the wire protocols that drivers read, from the board's side.

A voice turns samples into bytes exactly as a board of that kind would send them, or answers a
reader that asks. Rows are the transducers' volts and the engine's rpm, in the order of `FIELDS`.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from typing import Any, ClassVar

import numpy as np

from gaugebench.simulate.canvoices import J1939, CanopenPressure
from gaugebench.simulate.pinvoices import Firmata, IioAdc
from gaugebench.simulate.voice import FIELDS, NAME, Sent, Voice
from gaugebench.wire.frame import ValueType, encode_hello, encode_samples
from gaugebench.wire.modbus import is_whole, with_crc
from gaugebench.wire.text_line import LineFormat, encode_line

BANNER = f"BOOT {NAME}\r\n".encode()


class TextLines(Voice):
    """`t_ms,pilot,p1,c1,p2,c2,rpm`: volts to 0.1 mV."""

    driver = "text-lines"
    layout = LineFormat(cells=7, values=(1, 2, 3, 4, 5, 6), time=0)

    def options(self, port: str, rate_hz: float) -> dict[str, Any]:
        """See `Voice.options`."""
        return {"port": port, "time": "t_ms", "banner": "BOOT", "rate_hz": rate_hz}

    def hello(self) -> bytes:
        """The start-up banner."""
        return BANNER

    def say(self, time_s: float, row: Sequence[float]) -> tuple[bytes, list[Sent]]:
        """A line for every sample."""
        numbers = (*(round(v, 4) for v in row[:-1]), round(row[-1], 3))
        return encode_line(self.layout, numbers, time_s), [Sent(round(time_s * 1e3), numbers)]


class FramedBinary(Voice):
    """Frames of `rows` rows of float32."""

    driver = "framed-binary"

    def __init__(self, rows: int = 10) -> None:
        self._size = rows
        self._waiting: list[tuple[float, tuple[float, ...]]] = []
        self._first = 0

    def options(self, port: str, rate_hz: float) -> dict[str, Any]:
        """See `Voice.options`."""
        return {"port": port, "columns": list(FIELDS), "rate_hz": rate_hz}

    def hello(self) -> bytes:
        """The hello frame."""
        return encode_hello(NAME)

    def say(self, time_s: float, row: Sequence[float]) -> tuple[bytes, list[Sent]]:
        """A frame whenever it is full."""
        self._waiting.append((time_s, tuple(np.asarray(row, np.float32).tolist())))
        if len(self._waiting) < self._size:
            return b"", []
        times, rows = zip(*self._waiting, strict=True)
        step = (times[-1] - times[0]) / max(1, len(times) - 1)
        frame = encode_samples(np.array(rows), self._first, times[0], step, ValueType.FLOAT32)
        sent = [Sent(round(t * 1e3), r) for t, r in self._waiting]
        self._first += len(rows)
        self._waiting = []
        return frame, sent


class ModbusRtu(Voice):
    """A slave with a float32 (ABCD) for each field from holding register 0 on; it only answers."""

    driver = "modbus-rtu"
    address: ClassVar[int] = 5
    _READ = (3, 4)
    _REQUEST = 8

    def __init__(self) -> None:
        self._held = b""
        self._latest: tuple[float, tuple[float, ...]] | None = None

    def options(self, port: str, rate_hz: float) -> dict[str, Any]:
        """See `Voice.options`; asked at most 50 times a second."""
        values = [
            {"input": name, "register": 2 * k, "type": "float32"} for k, name in enumerate(FIELDS)
        ]
        device = {
            "name": "practice",
            "address": self.address,
            "poll_hz": min(rate_hz, 50.0),
            "value": values,
        }
        return {"port": port, "device": [device]}

    def say(self, time_s: float, row: Sequence[float]) -> tuple[bytes, list[Sent]]:
        """Nothing: it keeps the sample until it is asked."""
        self._latest = (time_s, tuple(np.asarray(row, np.float32).tolist()))
        return b"", []

    def hear(self, data: bytes) -> tuple[bytes, list[Sent]]:
        """The answer to each whole request for its registers; others it leaves alone."""
        self._held += data
        answer, sent = b"", []
        while len(self._held) >= self._REQUEST:
            request = self._held[: self._REQUEST]
            if not is_whole(request):
                self._held = self._held[1:]
                continue
            self._held = self._held[self._REQUEST :]
            address, function, first, count = struct.unpack(">BBHH", request[:6])
            if address != self.address or self._latest is None:
                continue
            registers = struct.pack(f">{len(FIELDS)}f", *self._latest[1])
            if function not in self._READ:
                answer += with_crc(bytes([address, function | 0x80, 1]))
            elif not count or 2 * (first + count) > len(registers):
                answer += with_crc(bytes([address, function | 0x80, 2]))
            else:
                body = registers[2 * first : 2 * (first + count)]
                answer += with_crc(bytes([address, function, len(body)]) + body)
                sent.append(Sent(round(self._latest[0] * 1e3), self._latest[1]))
        return answer, sent


class Scpi(Voice):
    """A scanner that answers `READ?` with its newest row as text, and `*IDN?`."""

    driver = "scpi"

    def __init__(self) -> None:
        self._held = b""
        self._latest: tuple[float, tuple[float, ...]] | None = None

    def options(self, port: str, rate_hz: float) -> dict[str, Any]:
        """See `Voice.options`; asked at most 20 times a second."""
        every_s = max(1 / rate_hz, 0.05)
        return {
            "port": port,
            "query": [{"send": "READ?", "inputs": list(FIELDS), "every_s": every_s}],
        }

    def say(self, time_s: float, row: Sequence[float]) -> tuple[bytes, list[Sent]]:
        """Nothing: it keeps the sample until it is asked."""
        self._latest = (time_s, tuple(round(v, 5) for v in row))
        return b"", []

    def hear(self, data: bytes) -> tuple[bytes, list[Sent]]:
        """An answer a line; it does not answer what it does not know, as such meters do not."""
        *lines, self._held = (self._held + data).split(b"\n")
        answer, sent = b"", []
        for line in lines:
            asked = line.strip().upper()
            if asked == b"*IDN?":
                answer += f"practice,{NAME},0,1\n".encode()
            elif asked == b"READ?" and self._latest is not None:
                answer += ",".join(f"{v:+.5E}" for v in self._latest[1]).encode() + b"\n"
                numbers = tuple(float(f"{v:+.5E}") for v in self._latest[1])
                sent.append(Sent(round(self._latest[0] * 1e3), numbers))
        return answer, sent


VOICES: dict[str, type[Voice]] = {
    voice.driver: voice
    for voice in (
        TextLines, FramedBinary, ModbusRtu, Scpi, J1939, CanopenPressure, Firmata, IioAdc,
    )
}  # fmt: skip
"""The voices by the driver that understands them."""
