"""Driver `modbus-rtu`: devices that answer on an RS-485 line, each polled at its own rate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from gaugebench.driver import Clock, Driver, Input, Notice, Reject, Source, Stream
from gaugebench.wire.modbus import (
    Failure,
    NumberType,
    Reply,
    is_suspicious,
    number,
    parse_reply,
    proposed_orders,
    read_request,
    silence_s,
)
from gaugebench_drivers.asking import NO_ANSWER, AskingSource, Turn
from gaugebench_drivers.modbus_options import ModbusDevice, ModbusOptions, RegisterValue
from gaugebench_drivers.naming import grouped

STRAY = "stray byte"
WORD_ORDER = "word order?"
LIKELY_NEGATIVE = 0xFE00
ODD_READINGS = 3
LARGEST_SENSIBLE = 1e6
"""No word order is suggested from fewer readings, nor one that gives numbers beyond this."""


@dataclass(slots=True, kw_only=True)
class _Turn(Turn):
    """A device and when it is asked next."""

    stream: int
    device: ModbusDevice
    tries: int = 0
    hinted: set[str] = field(default_factory=set)
    odd: dict[str, list[tuple[int, ...]]] = field(default_factory=dict)


class ModbusSource(AskingSource[_Turn]):
    """An open line."""

    def __init__(self, options: ModbusOptions, inputs: Sequence[Input], clock: Clock) -> None:
        names = ([v.input for v in d.value] for d in options.device)
        groups = grouped(inputs, names, "is a value of no device")
        streams = [
            Stream(d.name, group, d.poll_hz)
            for d, group in zip(options.device, groups, strict=True)
        ]
        super().__init__(options, streams, clock, quiet_s=silence_s(options.baud))
        self._retries = options.retries
        now = clock.now()
        self._turns = [
            _Turn(
                request=read_request(d.address, d.table, *d.span),
                stream=index,
                every_s=1 / d.poll_hz,
                timeout_s=d.timeout_s,
                due_s=now,
                device=d,
            )
            for index, d in enumerate(options.device)
        ]

    def _answered(self, turn: _Turn, data: bytes, now: float) -> bool:
        result = parse_reply(turn.request, data)
        if isinstance(result, Reply):
            self._take(turn, result, data, now)
        elif result is not None:
            self._fail(turn, result, now)
        return result is not None

    def _unanswered(self, turn: _Turn, data: bytes, now: float) -> None:
        self._fail(turn, Failure(NO_ANSWER, data), now)

    def _take(self, turn: _Turn, reply: Reply, data: bytes, now: float) -> None:
        if reply.stray:
            self._pending.reject(Reject(STRAY, b"\x00", now))
        first, _ = turn.device.span
        row = []
        for value in turn.device.value:
            start = value.register_ - first
            registers = reply.registers[start : start + value.type.registers]
            found = number(registers, value.type, value.order)
            if value.type is NumberType.FLOAT32 and is_suspicious(found):
                self._pending.reject(Reject(WORD_ORDER, data, now))
                self._suggest_order(turn, value, registers, now)
                found = math.nan
            elif value.type is NumberType.UINT16 and found >= LIKELY_NEGATIVE:
                self._hint(turn, value, f"reads {found:.0f}: signed (int16)?", now)
            row.append(found * value.scale)
        self._row(turn, row, now)
        turn.tries = 0

    def _suggest_order(
        self, turn: _Turn, value: RegisterValue, registers: tuple[int, ...], now: float
    ) -> None:
        """Say which word orders would give sensible numbers; the user decides."""
        seen = turn.odd.setdefault(value.input, [])
        if registers not in seen and len(seen) < ODD_READINGS:
            seen.append(registers)
        orders = proposed_orders(seen, -LARGEST_SENSIBLE, LARGEST_SENSIBLE)
        if len(seen) < ODD_READINGS or not orders:
            return
        would = "; ".join(
            f"{order} gives " + ", ".join(f"{number(r, value.type, order):g}" for r in seen)
            for order in orders
        )
        self._hint(turn, value, f"has no sensible value: wrong word order? {would}.", now)

    def _hint(self, turn: _Turn, value: RegisterValue, text: str, now: float) -> None:
        if value.input not in turn.hinted:
            turn.hinted.add(value.input)
            self._pending.notice(Notice(f"“{value.input}” {text}", now))

    def _fail(self, turn: _Turn, failure: Failure, now: float) -> None:
        self._pending.reject(Reject(failure.kind, failure.raw, now))
        if failure.kind != NO_ANSWER and not failure.from_device:
            turn.tries += 1
            if turn.tries <= self._retries:
                return  # still due: it is asked again at once
        turn.tries = 0
        self._back_off(turn, now)
        if turn.failures == 1 or failure.from_device:
            self._tell(turn, failure, now)

    def _tell(self, turn: _Turn, failure: Failure, now: float) -> None:
        text = f"“{turn.device.name}” (address {turn.device.address}): {failure.kind}"
        if text not in turn.hinted:
            turn.hinted.add(text)
            self._pending.notice(Notice(text, now))


class ModbusRtu(Driver[ModbusOptions]):
    """Modbus RTU master."""

    name = "modbus-rtu"
    summary = "transmitters and converters on an RS-485 line that speak Modbus RTU"
    options = ModbusOptions

    def open(self, options: ModbusOptions, inputs: Sequence[Input], clock: Clock) -> Source:
        """Open the line. Raises `SourceError`."""
        return ModbusSource(options, inputs, clock)


DRIVER = ModbusRtu()
