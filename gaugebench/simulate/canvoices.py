"""Practice boards on a CAN bus: their bytes are frames as a serial adapter writes them."""

from __future__ import annotations

import struct
from collections.abc import Sequence
from typing import Any, ClassVar

from gaugebench.simulate.carriers import Carrier, SerialAdapter
from gaugebench.simulate.voice import FIELDS, Sent, Voice
from gaugebench.wire.can_signal import (
    COB_NMT,
    KNOWN_SPNS,
    cob_heartbeat,
    cob_tpdo,
)
from gaugebench.wire.slcan import CanFrame, SlcanDecoder, encode


class _OnCan(Voice):
    def carrier(self) -> Carrier:
        return SerialAdapter()


class J1939(_OnCan):
    """The engine's controller, which broadcasts its speed (SPN 190), and a converter module.

    The module sends the transducers' volts in groups of its own (PGN 65280 on), 0.1 mV a bit. A
    listener can do nothing but listen.
    """

    driver = "j1939"
    VOLTS: ClassVar[float] = 1e-4
    _GROUPS: ClassVar[tuple[int, ...]] = (65280, 65281)
    _A_FRAME: ClassVar[int] = 4
    _ENGINE, _MODULE = 0x00, 0x80

    def options(self, port: str, rate_hz: float) -> dict[str, Any]:  # noqa: ARG002
        """See `Voice.options`."""
        spns: list[dict[str, Any]] = [
            {
                "input": name,
                "source": self._MODULE,
                "pgn": self._GROUPS[k // self._A_FRAME],
                "byte": 1 + 2 * (k % self._A_FRAME),
                "bits": 16,
                "step": self.VOLTS,
                "unit": "V",
            }
            for k, name in enumerate(FIELDS[:-1])
        ]
        return {"port": port, "spn": [*spns, {"input": "rpm", "spn": 190}]}

    def say(self, time_s: float, row: Sequence[float]) -> tuple[bytes, list[Sent]]:
        """A frame for each group and one for the engine's speed."""
        raw = [round(v / self.VOLTS) for v in row[:-1]]
        rpm = round(row[-1] / KNOWN_SPNS[190].step)
        frames = b""
        for k, group in enumerate(self._GROUPS):
            part = raw[k * self._A_FRAME : (k + 1) * self._A_FRAME]
            words = (*part, *[0xFFFF] * (self._A_FRAME - len(part)))
            frames += _broadcast(6, group, self._MODULE, struct.pack("<4H", *words))
        data = struct.pack("<3sH3s", b"\xff" * 3, rpm, b"\xff" * 3)
        frames += _broadcast(3, KNOWN_SPNS[190].pgn, self._ENGINE, data)
        numbers = (*(r * self.VOLTS for r in raw), rpm * KNOWN_SPNS[190].step)
        return frames, [Sent(round(time_s * 1e3), numbers)]


class CanopenPressure(_OnCan):
    """A module with three PDOs of two float32 each; it sends once it is told to start."""

    driver = "canopen-pressure"
    node: ClassVar[int] = 5
    _START = 1

    def __init__(self) -> None:
        self._decoder = SlcanDecoder()
        self._runs = False

    def options(self, port: str, rate_hz: float) -> dict[str, Any]:
        """See `Voice.options`."""
        pdos = [
            {
                "node": self.node,
                "number": number,
                "rate_hz": rate_hz,
                "value": [
                    {"input": name, "byte": 4 * k, "type": "float32"}
                    for k, name in enumerate(FIELDS[2 * number - 2 : 2 * number])
                ],
            }
            for number in (1, 2, 3)
        ]
        return {"port": port, "pdo": pdos, "start": True}

    def hello(self) -> bytes:
        """Its boot-up message."""
        return encode(CanFrame(cob_heartbeat(self.node), b"\x00"))

    def hear(self, data: bytes) -> tuple[bytes, list[Sent]]:
        """Start or stop, where the bus's master says so to this node or to all."""
        for frame in self._decoder.feed(data):
            if (
                isinstance(frame, CanFrame)
                and frame.identifier == COB_NMT
                and not frame.extended
                and frame.data[1:2] in (b"\x00", bytes([self.node]))
            ):
                self._runs = frame.data[0] == self._START
        return b"", []

    def say(self, time_s: float, row: Sequence[float]) -> tuple[bytes, list[Sent]]:
        """All three PDOs."""
        if not self._runs:
            return b"", []
        data = struct.pack("<6f", *row)
        frames = b"".join(
            encode(CanFrame(cob_tpdo(self.node, n + 1), data[8 * n : 8 * n + 8])) for n in range(3)
        )
        return frames, [Sent(round(time_s * 1e3), struct.unpack("<6f", data))]


def _broadcast(priority: int, pgn: int, source: int, data: bytes) -> bytes:
    identifier = priority << 26 | pgn << 8 | source
    return encode(CanFrame(identifier, data, extended=True))
