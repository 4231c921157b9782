"""A line on which devices speak when they are asked: one question at a time, each at its own rate.

A read sends at most one question or takes what has come of its answer, so it never waits longer
than told, and a device that is dead delays the others by no more than its time-out. What is not
answered is asked less and less often.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np

from gaugebench.driver import Batch, Clock, Reading, Reject, Source, Stream
from gaugebench.errors import SourceLost
from gaugebench_drivers.pending import Pending
from gaugebench_drivers.serial_port import SerialOptions, SerialPort

NO_ANSWER = "no answer"
LONGEST_BACK_OFF_S = 5.0


@dataclass(slots=True)
class Turn:
    """A question and when it is asked next.

    stream: which stream its answers belong to, None for one that gives no rows. every_s: time
    between two questions; timeout_s: how long to wait for the answer.
    """

    request: bytes
    stream: int | None
    every_s: float
    timeout_s: float
    due_s: float
    failures: int = 0


TurnT = TypeVar("TurnT", bound=Turn)


class AskingSource(Source, Generic[TurnT]):
    """An open line. A driver says what an answer means: `_answered` and `_unanswered`."""

    def __init__(
        self,
        options: SerialOptions,
        streams: Sequence[Stream],
        clock: Clock,
        *,
        start: bytes = b"",
        quiet_s: float = 0.0,
    ) -> None:
        """Open the port and send `start`. quiet_s: the pause between an answer and a question.

        Raises `SourceError`.
        """
        self._clock = clock
        self._streams = tuple(streams)
        self._quiet_s = quiet_s
        self._pending = Pending()
        self._turns: list[TurnT] = []
        self._asked: TurnT | None = None
        self._answer = b""
        self._port = SerialPort(options)
        if start:
            self._port.write(start)
        self._deadline_s = self._line_free_s = clock.now()

    @property
    def streams(self) -> tuple[Stream, ...]:
        """One stream for each question that gives rows."""
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
        """Let go of the line."""
        with suppress(SourceLost):  # it is gone, which is what was asked for
            self._port.close()
        return self._pending.take_all()

    @abstractmethod
    def _answered(self, turn: TurnT, data: bytes, now: float) -> bool:
        """Take what has come so far; False while more of the answer must come."""

    @abstractmethod
    def _unanswered(self, turn: TurnT, data: bytes, now: float) -> None:
        """Take that nothing, or only the beginning `data`, came in time."""

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
        self._deadline_s = now + turn.timeout_s

    def _listen(self, turn: TurnT, timeout_s: float) -> None:
        left = self._deadline_s - self._clock.now()
        self._answer += self._port.read(max(0.0, min(left, timeout_s)))
        now = self._clock.now()
        if not (self._answer and self._answered(turn, self._answer, now)):
            if now < self._deadline_s:
                return
            self._unanswered(turn, self._answer, now)
        self._asked = None
        self._line_free_s = now + self._quiet_s

    def _row(self, turn: TurnT, values: Sequence[float], now: float) -> None:
        """Hand on a row, and ask again when that is due."""
        if turn.stream is not None:
            self._pending.batch(Batch(turn.stream, np.array([values]), np.array([now])))
        turn.failures = 0
        turn.due_s = max(turn.due_s + turn.every_s, now)

    def _back_off(self, turn: TurnT, now: float) -> None:
        """Ask again later, and the later the oftener it failed."""
        turn.failures += 1
        back_off = min(turn.every_s * 2.0 ** min(turn.failures, 16), LONGEST_BACK_OFF_S)
        turn.due_s = now + max(turn.every_s, back_off)
