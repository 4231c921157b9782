"""Cells of a time column as seconds, a block at a time."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gaugebench.errors import TraceError
from gaugebench.model.arrays import F64
from gaugebench.store.importing import cells
from gaugebench.store.importing.timekind import TimeKind, TimePlan

_SPREADSHEET_EPOCH = datetime(1899, 12, 30)  # noqa: DTZ001 - spreadsheets know no zones
_UNIX_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_DAY = 86_400.0
_MONTH_IN_WORDS = r"^\d{0,4}[-/. ]{0,2}[A-Za-zäéû]{3}"
_ORDERS = {"dmy": ("%d", "%m", "%Y"), "mdy": ("%m", "%d", "%Y"), "ymd": ("%Y", "%m", "%d")}


class Seconds:
    """Turns blocks of cells into seconds on the trace's clock, remembering the first instant.

    started: the wall time at which the trace's clock stands at 0, once a block with wall time has
    been seen; without a zone where the file states none.
    """

    def __init__(self, plan: TimePlan) -> None:
        self.plan = plan
        self.started: datetime | None = None
        self.first_clock: str = ""
        self._origin: float | None = None
        self._turns = 0.0
        self._last = float("-inf")
        self._row = 0
        self._origin_ns = 0

    def convert(self, column: Any, dates: Any, rows: int) -> F64:
        """Seconds, shape (rows,), NaN where a cell is no time.

        column: float64 array of numbers or an arrow array of text, by the plan; dates: likewise
        of a date column, or None.
        """
        match self.plan.kind:
            case TimeKind.ROWS:
                self._row += rows
                return np.arange(self._row - rows, self._row, dtype=np.float64) * self.plan.factor
            case TimeKind.ELAPSED | TimeKind.COUNTER:
                # To a unit's exact tenths: 3 ms is 0.003 s, not 0.0030000000000000001 twice over.
                return _scaled(column, self.plan.factor)
            case TimeKind.EPOCH:
                return self._from_epoch(column * self.plan.factor)
            case TimeKind.DAYS:
                return self._from_days(column)
            case TimeKind.CLOCK | TimeKind.MINUTES:
                return self._from_clock(column)
            case TimeKind.STAMP:
                return self._from_stamps(column, dates)

    def _from_epoch(self, instants: F64) -> F64:
        if self._origin is None and np.isfinite(instants).any():
            self._origin = float(instants[np.isfinite(instants)][0])
            self.started = _wall_time(_UNIX_EPOCH, self._origin, "seconds since 1970")
        return instants - (self._origin or 0.0)

    def _from_days(self, days: F64) -> F64:
        if self._origin is None and np.isfinite(days).any():
            self._origin = float(days[np.isfinite(days)][0])
            # A day's fraction, as spreadsheets write it, is good to about a millisecond.
            seconds = round(self._origin * _DAY, 3)
            self.started = _wall_time(_SPREADSHEET_EPOCH, seconds, "days of a spreadsheet")
        # A day's fraction in a double is good to some microseconds; no more is claimed.
        return np.round((days - (self._origin or 0.0)) * _DAY, 5)

    def _from_clock(self, text: Any) -> F64:
        instants = clock_seconds(text)
        period = _DAY if self.plan.kind is TimeKind.CLOCK else 3600.0
        finite = np.isfinite(instants)
        steps = np.diff(instants[finite], prepend=self._last)
        if finite.any():
            # Midnight (or the full hour of a M:SS clock) is a fall by most of a turn.
            turns = self._turns + period * np.cumsum(steps < -0.5 * period)
            self._last = float(instants[finite][-1])
            self._turns = float(turns[-1])
            instants[finite] += turns
        if self._origin is None and finite.any():
            self._origin = float(instants[finite][0]) if period == _DAY else 0.0
            self.first_clock = str(text[int(np.argmax(finite))])
        return np.round(instants - (self._origin or 0.0), 9)

    def _from_stamps(self, text: Any, dates: Any) -> F64:
        import pandas as pd  # reads dates by a stated format, quickly

        words = _words(text)
        if dates is not None:
            words = _words(dates) + " " + words
        if words.str.contains(_MONTH_IN_WORDS).any():
            words = words.map(cells.numbered)
        words = words.str.replace(r"(?<=\d)T(?=\d)", " ", regex=True)
        words = words.str.replace(r"(?<=:\d\d:\d\d)[,:](?=\d)", ".", regex=True)
        words = words.str.replace(r"^(\d+)[-/.](\d+)[-/.](\d+),?\s+", r"\1-\2-\3 ", regex=True)
        parts = _ORDERS[self.plan.date_order]
        if parts[-1] == "%Y":
            words = words.str.replace(r"^(\d+-\d+)-(\d\d) ", r"\1-20\2 ", regex=True)
        zoned = bool(words.str.contains(r"(?:Z|UTC|[+-]\d\d:?\d\d)$").any())
        words = words.str.replace(r"\s*(?:UTC|Z)$", "+0000", regex=True)
        clock = "%I:%M:%S %p" if self.plan.twelve_hours else "%H:%M:%S"
        nanoseconds = np.full(len(words), np.iinfo(np.int64).min)
        # With a fraction, without, and without seconds: one column may hold all three.
        for each in (clock.replace("%S", "%S.%f"), clock, clock.replace(":%S", "")):
            left = np.flatnonzero(nanoseconds == np.iinfo(np.int64).min)
            if not len(left):
                break
            pattern = "-".join(parts) + " " + each + ("%z" if zoned else "")
            found = pd.to_datetime(words.iloc[left], format=pattern, errors="coerce", utc=True)
            nanoseconds[left] = found.dt.as_unit("ns").astype("int64").to_numpy()
        return self._since_first(nanoseconds, zoned=zoned)

    def _since_first(self, nanoseconds: NDArray[np.int64], *, zoned: bool) -> F64:
        known = nanoseconds != np.iinfo(np.int64).min
        if not known.any():
            return np.full(len(nanoseconds), np.nan)
        if self.started is None:
            self._origin_ns = int(nanoseconds[known][0])
            first = _UNIX_EPOCH + timedelta(microseconds=self._origin_ns // 1000)
            self.started = first if zoned else first.replace(tzinfo=None)
        found = (nanoseconds - self._origin_ns) * 1e-9
        found[~known] = np.nan
        return np.round(found, 9)


def _wall_time(epoch: datetime, seconds: float, what: str) -> datetime:
    try:
        return epoch + timedelta(seconds=seconds)
    except OverflowError as fault:
        raise TraceError(
            f"The first time in the file is no instant in {what}; say what it is with --time-unit."
        ) from fault


def _words(text: Any) -> Any:
    """An arrow array of text as a pandas series, stripped."""
    import pandas as pd

    words = pd.Series(text.to_pylist(), dtype="str").str.strip()
    # What is too long for an instant is none; the patterns take the square of a word's length.
    return words.where(words.str.len() <= cells.LONGEST_CELL, "")


def _scaled(numbers: F64, factor: float) -> F64:
    """Numbers times a power of ten below one, by division, which rounds as a person would."""
    inverse = 1.0 / factor
    if factor < 1 and inverse == round(inverse):
        return numbers / inverse
    return numbers * factor


def clock_seconds(text: Any) -> F64:
    """`H:MM:SS.f` or `M:SS,f`, with AM or PM or without, as seconds; NaN where it is neither."""
    import pyarrow as pa
    import pyarrow.compute as pc

    words = pc.replace_substring(pc.utf8_trim_whitespace(text), ",", ".")
    fields = pc.extract_regex(
        words,
        r"^(?:(?P<h>\d{1,5}):)?(?P<m>\d{1,2}):(?P<s>\d{2}(?:\.\d+)?)(?P<frac>:\d+)?\s*"
        r"(?P<half>[AaPp])?\.?[Mm]?\.?$",
    )
    if isinstance(fields, pa.ChunkedArray):
        fields = fields.combine_chunks()

    def number(name: str, otherwise: float) -> F64:
        part = pc.struct_field(fields, name)
        part = pc.if_else(pc.equal(part, ""), str(otherwise), part)
        found: F64 = pc.cast(part, pa.float64()).to_numpy(zero_copy_only=False)
        return found

    hours = number("h", 0.0)
    half = pc.utf8_lower(pc.struct_field(fields, "half")).to_numpy(zero_copy_only=False)
    hours = np.where(half == "p", hours % 12 + 12, np.where(half == "a", hours % 12, hours))
    # H:MM:SS:mmm, thousandths behind a colon
    parts = pc.replace_substring(pc.struct_field(fields, "frac"), ":", "0.")
    parts = pc.if_else(pc.equal(parts, ""), "0", parts)
    fraction: F64 = pc.cast(parts, pa.float64()).to_numpy(zero_copy_only=False)
    seconds: F64 = hours * 3600.0 + number("m", 0.0) * 60.0 + number("s", 0.0) + fraction
    return seconds
