"""Driver `scpi`: meters and scanners on a serial line that answer IEEE 488.2 queries."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from gaugebench.driver import Clock, Driver, Input, Notice, Reject, Source, Stream
from gaugebench.wire.scpi import answer_length, block_numbers, text_numbers
from gaugebench_drivers.asking import NO_ANSWER, AskingSource, Turn
from gaugebench_drivers.naming import grouped, no_doubles
from gaugebench_drivers.serial_port import SerialOptions

NOT_NUMBERS = "not numbers"
WRONG_VALUES = "number of values"
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
        no_doubles("input", [name for q in self.query for name in q.inputs])
        return self


@dataclass(slots=True)
class _Turn(Turn):
    """A query and when it is sent next. query: None for the question who it is."""

    query: Query | None = None


class ScpiSource(AskingSource[_Turn]):
    """An open instrument."""

    def __init__(self, options: ScpiOptions, inputs: Sequence[Input], clock: Clock) -> None:
        groups = grouped(inputs, (q.inputs for q in options.query), "is in the answer to no query")
        streams = [
            Stream(q.send, group, 1 / q.every_s)
            for q, group in zip(options.query, groups, strict=True)
        ]
        start = b"".join(_line(command) for command in options.start)
        super().__init__(options, streams, clock, start=start)
        now = clock.now()
        if options.identify:
            self._turns.append(_Turn(_line("*IDN?"), None, 1.0, 1.0, now - 1.0))
        self._turns += [
            _Turn(_line(q.send), n, q.every_s, q.timeout_s, now, query=q)
            for n, q in enumerate(options.query)
        ]

    def _answered(self, turn: _Turn, data: bytes, now: float) -> bool:
        is_block = turn.query is not None and turn.query.block is not None
        try:
            length = answer_length(data, is_block=is_block)
        except ValueError:
            self._fail(turn, NOT_NUMBERS, data, now)
            return True
        if length is None:
            return False
        if turn.query is None:
            said = data[:length].decode("utf-8", "replace").strip()[:200]
            self._pending.notice(Notice(said, now))
            self._turns.remove(turn)
        else:
            self._take(turn, turn.query, data[:length], now)
        return True

    def _unanswered(self, turn: _Turn, data: bytes, now: float) -> None:
        self._fail(turn, NO_ANSWER, data, now)

    def _take(self, turn: _Turn, query: Query, answer: bytes, now: float) -> None:
        try:
            if query.block is None:
                values = text_numbers(answer)
            else:
                order = ">" if query.byte_order == "big" else "<"
                values = block_numbers(answer, order + _TYPES[query.block])
        except ValueError:
            self._fail(turn, NOT_NUMBERS, answer, now)
            return
        if len(values) == len(query.inputs):
            self._row(turn, values.tolist(), now)
        else:
            self._fail(turn, WRONG_VALUES, answer, now)

    def _fail(self, turn: _Turn, kind: str, answer: bytes, now: float) -> None:
        self._pending.reject(Reject(kind, answer, now))
        if turn.query is None:  # who it is, is worth one question and no more
            self._turns.remove(turn)
        else:
            self._back_off(turn, now)


def _line(text: str) -> bytes:
    return text.encode() + b"\n"


class Scpi(Driver[ScpiOptions]):
    """Instruments that answer queries."""

    name = "scpi"
    summary = "bench meters and scanners that answer SCPI queries on a serial line"
    options = ScpiOptions

    def open(self, options: ScpiOptions, inputs: Sequence[Input], clock: Clock) -> Source:
        """Open the instrument's port. Raises `SourceError`."""
        return ScpiSource(options, inputs, clock)


DRIVER = Scpi()
