"""Driver `modbus-rtu`: devices that answer on an RS-485 line, each polled at its own rate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, model_validator

from gaugebench.driver import Batch, Clock, Driver, Input, Notice, Reading, Reject, Source, Stream
from gaugebench.errors import SourceError, SourceLost
from gaugebench.wire.modbus import (
    MAX_REGISTERS,
    Failure,
    NumberType,
    Order,
    Reply,
    Table,
    is_suspicious,
    number,
    parse_reply,
    proposed_orders,
    read_request,
    silence_s,
)
from gaugebench_drivers.pending import Pending
from gaugebench_drivers.serial_port import SerialOptions, SerialPort

NO_ANSWER = "no answer"
STRAY = "stray byte"
WORD_ORDER = "word order?"
LONGEST_BACK_OFF_S = 5.0
LIKELY_NEGATIVE = 0xFE00
ODD_READINGS = 3
LARGEST_SENSIBLE = 1e6
"""No word order is suggested from fewer readings, nor one that gives numbers beyond this."""


class RegisterValue(BaseModel):
    """One `[[source.options.device.value]]`: where an input of the kit is found."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    input: str = Field(description="the kit's name for the input")
    register_: int = Field(
        alias="register", ge=0, le=65535, description="its first register, counted from 0"
    )
    type: NumberType = Field(NumberType.INT16, description="how the number is written")
    order: Order = Field(Order.ABCD, description="order of the bytes, A the highest")
    scale: float = Field(1.0, description="what 1 in the register means in the channel's unit")


class ModbusDevice(BaseModel):
    """One `[[source.options.device]]`: a device on the line."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: str = Field(min_length=1, description="what it is called in streams and messages")
    address: int = Field(ge=1, le=247, description="its address on the line")
    table: Table = Field(Table.HOLDING, description="holding or input registers")
    poll_hz: float = Field(10.0, gt=0, le=1000, description="how often to ask it, 1/s")
    timeout_s: float = Field(0.2, gt=0, le=5, description="how long to wait for its answer, s")
    value: tuple[RegisterValue, ...] = Field(min_length=1, description="the values it holds")

    @property
    def span(self) -> tuple[int, int]:
        """First register and count of the request that covers all values."""
        first = min(v.register_ for v in self.value)
        return first, max(v.register_ + v.type.registers for v in self.value) - first

    @model_validator(mode="after")
    def _fits(self) -> ModbusDevice:
        if self.span[1] > MAX_REGISTERS:
            raise ValueError(
                f"the values of “{self.name}” lie {self.span[1]} registers apart; one request "
                f"covers {MAX_REGISTERS}, so list it as two devices"
            )
        taken: dict[int, str] = {}
        for value in self.value:
            for register in range(value.register_, value.register_ + value.type.registers):
                if register in taken:
                    raise ValueError(
                        f"“{value.input}” and “{taken[register]}” both lie on register {register}"
                    )
                taken[register] = value.input
        return self


class ModbusOptions(SerialOptions):
    """Options of `modbus-rtu`."""

    device: tuple[ModbusDevice, ...] = Field(min_length=1, description="the devices on the line")
    retries: int = Field(1, ge=0, le=5, description="how often to ask again after a damaged answer")

    @model_validator(mode="after")
    def _no_doubles(self) -> ModbusOptions:
        names = [d.name for d in self.device]
        inputs = [v.input for d in self.device for v in d.value]
        for kind, found in (("device", names), ("input", inputs)):
            double = next((x for x in found if found.count(x) > 1), None)
            if double is not None:
                raise ValueError(f"the {kind} “{double}” is given twice")
        return self


@dataclass(slots=True)
class _Turn:
    """A device and when it is asked next."""

    device: ModbusDevice
    request: bytes
    due_s: float
    failures: int = 0
    tries: int = 0
    hinted: set[str] = field(default_factory=set)
    odd: dict[str, list[tuple[int, ...]]] = field(default_factory=dict)


class ModbusSource(Source):
    """An open line. A read sends at most one request or takes what has come of its answer."""

    def __init__(self, options: ModbusOptions, inputs: Sequence[Input], clock: Clock) -> None:
        known = {v.input for d in options.device for v in d.value}
        for wanted in inputs:
            if wanted.name not in known:
                raise SourceError(f"The input “{wanted.name}” is a value of no device.")
        units = dict.fromkeys(known, "") | {i.name: i.unit for i in inputs}
        self._options = options
        self._clock = clock
        self._streams = tuple(
            Stream(
                d.name, tuple(Input(v.input, units.get(v.input, "")) for v in d.value), d.poll_hz
            )
            for d in options.device
        )
        self._pending = Pending()
        self._quiet_s = silence_s(options.baud)
        self._port = SerialPort(options)
        now = clock.now()
        self._turns = [
            _Turn(d, read_request(d.address, d.table, *d.span), now) for d in options.device
        ]
        self._asked: _Turn | None = None
        self._answer = b""
        self._deadline_s = now
        self._line_free_s = now

    @property
    def streams(self) -> tuple[Stream, ...]:
        """One stream for each device."""
        return self._streams

    def read(self, timeout_s: float) -> Reading:
        """One step of the exchange; see `Source.read`."""
        if not self._pending:
            if self._asked is None:
                self._ask(timeout_s)
            else:
                self._listen(timeout_s)
        return self._pending.take()

    def close(self) -> Reading:
        """Let go of the line."""
        with suppress(SourceLost):  # it is gone, which is what was asked for
            self._port.close()
        return self._pending.take_all()

    def _ask(self, timeout_s: float) -> None:
        now = self._clock.now()
        turn = min(self._turns, key=lambda t: t.due_s)
        wait = max(turn.due_s, self._line_free_s) - now
        if wait > 0:
            unasked = self._port.read(min(wait, timeout_s))
            if unasked:
                self._pending.reject(Reject("unasked", unasked, self._clock.now()))
            return
        self._port.forget_input()  # left-overs of a late answer would spoil this one
        self._port.write(turn.request)
        self._asked, self._answer = turn, b""
        self._deadline_s = now + turn.device.timeout_s

    def _listen(self, timeout_s: float) -> None:
        turn = self._asked
        if turn is None:
            return
        left = self._deadline_s - self._clock.now()
        self._answer += self._port.read(max(0.0, min(left, timeout_s)))
        now = self._clock.now()
        result = parse_reply(turn.request, self._answer) if self._answer else None
        if result is None and now >= self._deadline_s:
            result = Failure(NO_ANSWER, self._answer)
        if result is None:
            return
        self._asked = None
        self._line_free_s = now + self._quiet_s
        if isinstance(result, Reply):
            self._take(turn, result, now)
        else:
            self._fail(turn, result, now)

    def _take(self, turn: _Turn, reply: Reply, now: float) -> None:
        if reply.stray:
            self._pending.reject(Reject(STRAY, b"\x00", now))
        first, _ = turn.device.span
        row = []
        for value in turn.device.value:
            start = value.register_ - first
            registers = reply.registers[start : start + value.type.registers]
            found = number(registers, value.type, value.order)
            if value.type is NumberType.FLOAT32 and is_suspicious(found):
                self._pending.reject(Reject(WORD_ORDER, self._answer, now))
                self._suggest_order(turn, value, registers, now)
                found = math.nan
            elif value.type is NumberType.UINT16 and found >= LIKELY_NEGATIVE:
                self._hint(turn, value, f"reads {found:.0f}: signed (int16)?", now)
            row.append(found * value.scale)
        index = self._turns.index(turn)
        self._pending.batch(Batch(index, np.array([row]), np.array([now])))
        turn.failures = turn.tries = 0
        turn.due_s = max(turn.due_s + 1 / turn.device.poll_hz, now)

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
            if turn.tries <= self._options.retries:
                return  # still due: it is asked again at once
        turn.tries = 0
        turn.failures += 1
        interval = 1 / turn.device.poll_hz
        back_off = min(interval * 2.0 ** min(turn.failures, 16), LONGEST_BACK_OFF_S)
        turn.due_s = now + max(interval, back_off)
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
