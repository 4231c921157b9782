"""Practice boards that read volts alone: stock firmware, and a converter in the Linux kernel.

The engine's speed comes from its pick-up's converter, `VOLTS_A_RPM`.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from typing import Any, ClassVar

from gaugebench.simulate.carriers import Carrier
from gaugebench.simulate.iiofolder import IioFolder
from gaugebench.simulate.voice import NAME, VOLTS_A_RPM, Sent, Voice
from gaugebench.wire.firmata import (
    DEFAULT_INTERVAL_MS,
    END_SYSEX,
    FIRMWARE,
    REPORT_ANALOG,
    SAMPLING_INTERVAL,
    START_SYSEX,
    VERSION,
    encode_analog,
)

FULL_V = 5.0


class Firmata(Voice):
    """Stock firmware with a converter of 10 bits: pins A0 to A5, at the interval it is told."""

    driver = "firmata"
    inputs = ("A0", "A1", "A2", "A3", "A4", "A5")
    speed_in_volts = True
    bits: ClassVar[int] = 10
    step_v: ClassVar[float] = FULL_V / 2**bits
    _VERSION = bytes([VERSION, 2, 5])

    def __init__(self) -> None:
        self._held = b""
        self._wanted: set[int] = set()
        self._interval_s = DEFAULT_INTERVAL_MS / 1e3
        self._due_s = 0.0

    def options(self, port: str, rate_hz: float) -> dict[str, Any]:
        """See `Voice.options`; at most 100 rounds a second."""
        interval = max(10, round(1e3 / rate_hz))
        return {"port": port, "interval_ms": interval, "reference_v": FULL_V, "bits": self.bits}

    def hello(self) -> bytes:
        """Its version and its firmware's name."""
        pairs = b"".join(bytes([c & 0x7F, c >> 7]) for c in NAME.encode())
        return self._VERSION + bytes([START_SYSEX, FIRMWARE, 2, 5]) + pairs + bytes([END_SYSEX])

    def hear(self, data: bytes) -> tuple[bytes, list[Sent]]:
        """Answer the version, and take what is asked for: pins, and how often."""
        answer = b""
        for byte in data:
            if byte == VERSION:
                answer, self._held = answer + self._VERSION, b""
            elif byte == END_SYSEX:
                if self._held[:2] == bytes([START_SYSEX, SAMPLING_INTERVAL]):
                    self._interval_s = (self._held[2] | self._held[3] << 7) / 1e3
                self._held = b""
            elif byte & 0x80:
                self._held = bytes([byte])
            else:
                self._held += bytes([byte])
                if len(self._held) == 2 and self._held[0] & 0xF0 == REPORT_ANALOG:
                    pin = self._held[0] & 0x0F
                    (self._wanted.add if byte else self._wanted.discard)(pin)
        return answer, []

    def say(self, time_s: float, row: Sequence[float]) -> tuple[bytes, list[Sent]]:
        """The pins that were asked for, whenever the interval is over."""
        if not self._wanted or time_s < self._due_s - 1e-6:
            return b"", []
        self._due_s = max(self._due_s, time_s - self._interval_s) + self._interval_s
        top = 2**self.bits - 1
        counts = [max(0, min(top, round(v / self.step_v))) for v in _volts(row)]
        data = b"".join(encode_analog(p, c) for p, c in enumerate(counts) if p in self._wanted)
        numbers = tuple(c * self.step_v for p, c in enumerate(counts) if p in self._wanted)
        return data, [Sent(round(time_s * 1e3), numbers)]


class IioAdc(Voice):
    """A converter of 16 bits that the kernel reads in scans with a time of their own."""

    driver = "iio-adc"
    inputs = tuple(f"voltage{k}" for k in range(6))
    speed_in_volts = True
    step_v: ClassVar[float] = FULL_V / (2**16 - 1)

    def carrier(self) -> Carrier:
        """The kernel's folders."""
        forms = dict.fromkeys(self.inputs, "le:u16/16>>0") | {"timestamp": "le:s64/64>>0"}
        return IioFolder(forms, f"{1e3 * self.step_v!r}")

    def options(self, port: str, rate_hz: float) -> dict[str, Any]:  # noqa: ARG002
        """See `Voice.options`; the folders are the carrier's to name."""
        return {"rate_hz": rate_hz}

    def say(self, time_s: float, row: Sequence[float]) -> tuple[bytes, list[Sent]]:
        """A scan of all channels and its time in ns."""
        counts = [max(0, min(0xFFFF, round(v / self.step_v))) for v in _volts(row)]
        scan = struct.pack("<6H4xq", *counts, round(time_s * 1e9))
        return scan, [Sent(round(time_s * 1e3), tuple(c * self.step_v for c in counts))]


def _volts(row: Sequence[float]) -> list[float]:
    return [*row[:-1], row[-1] * VOLTS_A_RPM]
