"""Driver `text-lines`: delimited numbers, one row a line, from a serial board."""

from __future__ import annotations

import math
from collections.abc import Sequence
from contextlib import suppress
from typing import Literal

import numpy as np
from pydantic import Field, model_validator

from gaugebench.driver import Batch, Clock, Driver, Input, Notice, Reading, Reject, Source, Stream
from gaugebench.errors import SourceError, SourceLost
from gaugebench.wire.text_line import TEXT, BadLine, Decoded, LineDecoder, LineFormat
from gaugebench_drivers.pending import Pending
from gaugebench_drivers.serial_port import SerialOptions, SerialPort

UNUSED = "-"
_UNIT_S = {"s": 1.0, "ms": 1e-3, "us": 1e-6}
BANNER_WAIT_S = 3.0
BEFORE_BANNER = "before the banner"


class TextLineOptions(SerialOptions):
    """Options of `text-lines`."""

    columns: tuple[str, ...] | None = Field(
        None,
        description="names of the cells of a line in order, “-” for one to leave out; by default "
        "the inputs of the kit in their order, after the time if there is one",
    )
    time: str | None = Field(
        None, description="name of the cell with the device's own time; none: it sends no time"
    )
    time_unit: Literal["s", "ms", "us"] = Field("ms", description="unit of the device's time")
    time_bits: int | None = Field(
        32, ge=8, le=64, description="width of the device's clock, after which it starts at 0 again"
    )
    delimiter: Literal[",", ";", "tab", "space", "|"] = Field(
        ",", description="what stands between two cells; “space” is any run of blanks"
    )
    decimal_comma: bool = Field(default=False, description="numbers are written 187,4")
    mixed: bool = Field(
        default=False,
        description="the cells are the numbers between other text, as in “P1: 187.4 bar”",
    )
    checksum: bool = Field(
        default=False, description="lines end in “*” and two digits: the XOR of the rest"
    )
    banner: str = Field(
        "", description="how the line begins that the board prints when it starts, if it prints one"
    )
    query: str = Field("", description="what to send to be given a line; empty: it sends by itself")
    query_every_s: float = Field(0.1, ge=0.001, le=60, description="time between two queries, s")
    rate_hz: float | None = Field(None, gt=0, le=100_000, description="rows a second, if known")

    @model_validator(mode="after")
    def _fits(self) -> TextLineOptions:
        if self.decimal_comma and self.delimiter == "," and not self.mixed:
            raise ValueError("with decimal_comma the delimiter cannot be a comma as well")
        named = [c for c in self.columns or () if c != UNUSED]
        if len(set(named)) != len(named):
            raise ValueError("two columns have the same name")
        if self.columns and self.time is not None and self.time not in self.columns:
            raise ValueError(f"the time column “{self.time}” is not among the columns")
        return self

    def layout(self, inputs: Sequence[Input]) -> LineFormat:
        """How a line is laid out for these inputs. Raises `SourceError` where one is no column."""
        lead = () if self.time is None else (self.time,)
        columns = self.columns or (*lead, *(i.name for i in inputs))
        for wanted in inputs:
            if wanted.name not in columns or wanted.name in (self.time, UNUSED):
                raise SourceError(
                    f"The input “{wanted.name}” is not among the columns "
                    f"({', '.join(columns)}); name every cell of a line in “columns”."
                )
        return LineFormat(
            cells=len(columns),
            values=tuple(columns.index(i.name) for i in inputs),
            time=None if self.time is None else columns.index(self.time),
            time_unit_s=_UNIT_S[self.time_unit],
            delimiter={"tab": "\t", "space": ""}.get(self.delimiter, self.delimiter),
            decimal_comma=self.decimal_comma,
            mixed=self.mixed,
            checksum=self.checksum,
        )


class TextLineSource(Source):
    """An open board."""

    def __init__(self, options: TextLineOptions, inputs: Sequence[Input], clock: Clock) -> None:
        layout = options.layout(inputs)
        self._options = options
        self._layout = layout
        self._told_heading = False
        self._clock = clock
        self._decoder = LineDecoder(layout)
        self._banner = options.banner.encode()
        self._query = options.query.encode()
        self._pending = Pending()
        wrap_s: float | None = None
        if layout.time is not None:
            has_wrap = options.time_bits is not None and options.time_unit != "s"
            wrap_s = 2.0 ** (options.time_bits or 0) * layout.time_unit_s if has_wrap else math.inf
        self._streams = (
            Stream(
                "lines",
                tuple(inputs),
                options.rate_hz or (1 / options.query_every_s if self._query else None),
                wrap_s,
                layout.time_unit_s if layout.time is not None and options.time_unit != "s" else 0.0,
            ),
        )
        self._port = SerialPort(options)
        self._opened_s = clock.now()
        self._heard_banner = not self._banner
        self._asked_s = -math.inf

    @property
    def streams(self) -> tuple[Stream, ...]:
        """One stream: the cells of a line are sampled together."""
        return self._streams

    def read(self, timeout_s: float) -> Reading:
        """The rows that arrived; see `Source.read`."""
        if not self._pending:
            if self._query:
                timeout_s = min(timeout_s, self._ask())
            data = self._port.read(timeout_s)
            self._sort(self._decoder.feed(data), self._clock.now())
        return self._pending.take()

    def close(self) -> Reading:
        """Let go of the port; half a line still held is handed back as a reject."""
        self._sort(self._decoder.finish(), self._clock.now())
        with suppress(SourceLost):  # it is gone, which is what was asked for
            self._port.close()
        return self._pending.take_all()

    def _ask(self) -> float:
        now = self._clock.now()
        if now - self._asked_s >= self._options.query_every_s:
            self._port.write(self._query)
            self._asked_s = now
        return max(0.0, self._asked_s + self._options.query_every_s - now)

    def _sort(self, decoded: Decoded, now: float) -> None:
        """Put in order what was decoded, with the banner as a notice between the rows."""
        start = 0
        for line in decoded.bad:
            if self._is_banner(line):
                self._put(decoded, slice(start, line.after), now)
                start = line.after
                text = line.raw.decode("ascii", "replace")
                self._pending.notice(Notice(text, now, restarted=True))
                self._heard_banner = True
            else:
                self._pending.reject(Reject(line.kind, line.raw, now))
                if line.kind == TEXT:
                    self._tell_heading(line.raw, now)
        self._put(decoded, slice(start, None), now)

    def _put(self, decoded: Decoded, rows: slice, now: float) -> None:
        values = decoded.values[rows]
        times = None if decoded.times is None else decoded.times[rows]
        if not self._heard_banner and now - self._opened_s < BANNER_WAIT_S:
            # Opening resets the board: what comes before its banner was said before that.
            for _ in values:
                self._pending.reject(Reject(BEFORE_BANNER, b"", now))
        else:
            self._pending.batch(Batch(0, values, np.full(len(values), now), times))

    def _tell_heading(self, raw: bytes, now: float) -> None:
        """A line of words, as many as there are cells, names the columns: say so, once."""
        separator = self._layout.delimiter.encode() or None
        names = [cell.strip() for cell in raw.split(separator)]
        if len(names) == self._layout.cells > 1 and all(names) and not self._told_heading:
            self._told_heading = True
            text = ", ".join(name.decode("utf-8", "replace") for name in names)
            self._pending.notice(Notice(f"The board calls its columns {text}.", now))

    def _is_banner(self, line: BadLine) -> bool:
        # The first line after opening counts too: it begins as the banner does, so it is whole.
        return bool(self._banner) and line.raw.startswith(self._banner)


class TextLines(Driver[TextLineOptions]):
    """Delimited numbers, one row a line."""

    name = "text-lines"
    summary = "lines of numbers from a serial board"
    options = TextLineOptions

    def open(self, options: TextLineOptions, inputs: Sequence[Input], clock: Clock) -> Source:
        """Open the board's port. Raises `SourceError`."""
        return TextLineSource(options, inputs, clock)


DRIVER = TextLines()
