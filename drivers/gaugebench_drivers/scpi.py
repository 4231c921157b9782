"""Driver `scpi`: meters and scanners on a serial line that answer IEEE 488.2 queries."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, model_validator

from gaugebench.driver import Batch, Clock, Driver, Input, Notice, Reading, Reject, Source, Stream
from gaugebench.errors import SourceError, SourceLost
from gaugebench.wire.scpi import answer_length, block_numbers, text_numbers
from gaugebench_drivers.pending import Pending
from gaugebench_drivers.serial_port import SerialOptions, SerialPort

NO_ANSWER = "no answer"
NOT_NUMBERS = "not numbers"
WRONG_VALUES = "number of values"
LONGEST_BACK_OFF_S = 5.0
_TYPES = {"float32": "f4", "float64": "f8", "int16": "i2", "int32": "i4"}


class Query(BaseModel):
    """One `[[source.options.query]]`: what to send, and which inputs its answer holds."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    send: str = Field(min_length=1, max_length=500, description="the query, for example READ?")
    inputs: tuple[str, ...] = Field(
        min_length=1, description="names of the values in the answer, in order"
    )
    every_s: float = Field(0.1, ge=0.001, le=3600, description="time between two queries, s")
    timeout_s: float = Field(1.0, gt=0, le=60, description="how long to wait for the answer, s")
    block: Literal["float32", "float64", "int16", "int32"] | None = Field(
        None, description="type of the numbers where the answer is a block; none: it is text"
    )
    byte_order: Literal["big", "little"] = Field("big", description="order of a block's bytes")


class ScpiOptions(SerialOptions):
    """Options of `scpi`."""

    baud: int = Field(9600, ge=50, le=12_000_000, description="speed of the line, bits a second")
    start: tuple[str, ...] = Field((), description="commands to send once when opening")
    identify: bool = Field(default=True, description="ask *IDN? when opening, and show the answer")
    query: tuple[Query, ...] = Field(min_length=1, description="the queries, each at its own rate")

    @model_validator(mode="after")
    def _no_doubles(self) -> ScpiOptions:
        inputs = [name for q in self.query for name in q.inputs]
        double = next((n for n in inputs if inputs.count(n) > 1), None)
        if double is not None:
            raise ValueError(f"the input “{double}” is given twice")
        return self


@dataclass(slots=True)
class _Turn:
    """A query and when it is sent next. stream: None for the question who it is."""

    query: Query
    stream: int | None
    due_s: float
    failures: int = 0


class ScpiSource(Source):
    """An open instrument. A read sends at most one query or takes what has come of its answer."""

    def __init__(self, options: ScpiOptions, inputs: Sequence[Input], clock: Clock) -> None:
        known = {name for q in options.query for name in q.inputs}
        for wanted in inputs:
            if wanted.name not in known:
                raise SourceError(f"The input “{wanted.name}” is in the answer to no query.")
        units = dict.fromkeys(known, "") | {i.name: i.unit for i in inputs}
        self._clock = clock
        self._streams = tuple(
            Stream(q.send, tuple(Input(name, units[name]) for name in q.inputs), 1 / q.every_s)
            for q in options.query
        )
        self._pending = Pending()
        self._port = SerialPort(options)
        for command in options.start:
            self._port.write(command.encode() + b"\n")
        now = clock.now()
        self._turns = [_Turn(q, n, now) for n, q in enumerate(options.query)]
        if options.identify:
            self._turns.insert(0, _Turn(Query(send="*IDN?", inputs=("identity",)), None, now - 1))
        self._asked: _Turn | None = None
        self._answer = b""
        self._sent_s = now

    @property
    def streams(self) -> tuple[Stream, ...]:
        """One stream for each query."""
        return self._streams

    def read(self, timeout_s: float) -> Reading:
        """One step of the exchange; see `Source.read`."""
        if not self._pending:
            if self._asked is None:
                self._ask(timeout_s)
            else:
                self._listen(self._asked, timeout_s)
        return self._pending.take()

    def close(self) -> Reading:
        """Let go of the port."""
        with suppress(SourceLost):  # it is gone, which is what was asked for
            self._port.close()
        return self._pending.take_all()

    def _ask(self, timeout_s: float) -> None:
        now = self._clock.now()
        turn = min(self._turns, key=lambda t: t.due_s)
        if turn.due_s > now:
            unasked = self._port.read(min(turn.due_s - now, timeout_s))
            if unasked:
                self._pending.reject(Reject("unasked", unasked, self._clock.now()))
            return
        self._port.forget_input()
        self._port.write(turn.query.send.encode() + b"\n")
        self._asked, self._answer, self._sent_s = turn, b"", now

    def _listen(self, turn: _Turn, timeout_s: float) -> None:
        left = self._sent_s + turn.query.timeout_s - self._clock.now()
        self._answer += self._port.read(max(0.0, min(left, timeout_s)))
        now = self._clock.now()
        try:
            length = answer_length(self._answer, is_block=turn.query.block is not None)
        except ValueError:
            self._fail(turn, NOT_NUMBERS, now)
            return
        if length is not None:
            self._take(turn, self._answer[:length], now)
        elif now >= self._sent_s + turn.query.timeout_s:
            self._fail(turn, NO_ANSWER, now)

    def _take(self, turn: _Turn, answer: bytes, now: float) -> None:
        if turn.stream is None:
            self._pending.notice(Notice(answer.decode("utf-8", "replace").strip()[:200], now))
            self._turns.remove(turn)
            self._asked = None
            return
        query = turn.query
        try:
            if query.block is None:
                values = text_numbers(answer)
            else:
                order = ">" if query.byte_order == "big" else "<"
                values = block_numbers(answer, order + _TYPES[query.block])
        except ValueError:
            self._fail(turn, NOT_NUMBERS, now)
            return
        if len(values) != len(query.inputs):
            self._fail(turn, WRONG_VALUES, now)
            return
        self._pending.batch(Batch(turn.stream, values[np.newaxis], np.array([now])))
        self._asked = None
        turn.failures = 0
        turn.due_s = max(turn.due_s + query.every_s, now)

    def _fail(self, turn: _Turn, kind: str, now: float) -> None:
        self._asked = None
        self._pending.reject(Reject(kind, self._answer, now))
        if turn.stream is None:  # who it is, is worth one question and no more
            self._turns.remove(turn)
            return
        turn.failures += 1
        back_off = turn.query.every_s * 2.0 ** min(turn.failures, 16)
        turn.due_s = now + max(turn.query.every_s, min(back_off, LONGEST_BACK_OFF_S))


class Scpi(Driver[ScpiOptions]):
    """Instruments that answer queries."""

    name = "scpi"
    summary = "bench meters and scanners that answer SCPI queries on a serial line"
    options = ScpiOptions

    def open(self, options: ScpiOptions, inputs: Sequence[Input], clock: Clock) -> Source:
        """Open the instrument's port. Raises `SourceError`."""
        return ScpiSource(options, inputs, clock)


DRIVER = Scpi()
