"""From a stream's batches to timed blocks: clocks fitted, gaps counted, restarts told apart.

A device's clock runs evenly but at its own rate and from its own zero; the arrival of its bytes is
late by an uneven amount and never early. So the line from device time to session time is laid
along the earliest arrivals (`ClockLine`), and the instants of samples follow the device. Without
a device clock the samples of a burst are spread evenly and say so.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from gaugebench.acquire.clockline import STEP_S, ClockLine
from gaugebench.acquire.pace import Pace
from gaugebench.driver import Batch, Stream
from gaugebench.model.arrays import F64, U16, Bools
from gaugebench.model.block import Block
from gaugebench.model.event import ClockFit, GapSeen
from gaugebench.model.quality import Quality, flag
from gaugebench.model.trace import Gap

ROLL_OVER_SLACK_S = 0.5
"""How far device and arrival may disagree on the time between two rows for it to be a roll-over."""
SETTLING_ROWS = 10
SETTLING_S = 0.5
SILENCE_S = 0.5
"""Without a device clock: rows that are this late, and late by many rows, follow a gap."""
SILENCE_ROWS = 20
HOLD_S = 0.5
GUESS_S = 1e-3
"""How far apart rows are taken to be when one burst is all there is."""

Emit = Callable[[Block | GapSeen | ClockFit], None]


@dataclass(slots=True)
class _Last:
    """The last row: sent_s as the device sent it, device_s with its roll-overs undone."""

    session_s: float = -math.inf
    sent_s: float = math.nan
    device_s: float = math.nan
    arrival_s: float = math.nan


class StreamTimer:
    """Times the rows of one stream and hands on blocks, gaps and clock fits.

    stream: its index in the session. columns: which of the driver's inputs are kept, in order.
    """

    def __init__(
        self, spec: Stream, name: str, stream: int, columns: tuple[int, ...], emit: Emit
    ) -> None:
        self._spec = spec
        self._name = name
        self._stream = stream
        self._columns = list(columns)
        self._emit = emit
        self._rows = 0
        self._segment = 0
        self._last = _Last()
        self._gap_why = ""
        self._lost_before = 0
        self._settle_rows = 0
        self._settle_until = -math.inf
        self._line = ClockLine()
        self._held: Batch | None = None
        self.pace = Pace(spec.rate_hz, spec.device_step_s)
        self.lost = 0

    @property
    def has_clock(self) -> bool:
        """Whether the device sends its own time."""
        return self._spec.device_wrap_s is not None

    @property
    def drift_ppm(self) -> float | None:
        """By how much the device's seconds are short, or None while that is not known."""
        return self._line.drift_ppm if self.has_clock else None

    def break_off(self, why: str, *, settling: bool = False) -> None:
        """Say that the next row does not follow the last: the source was lost, or restarted."""
        self._gap_why = why
        if settling:
            self._settle_rows = SETTLING_ROWS
            self._settle_until = math.inf

    def take(self, batch: Batch) -> None:
        """Time a batch. `arrival_s` is on the session clock already."""
        rows = len(batch.raw)
        if rows == 0:
            return
        self._lost_before = batch.lost_before
        self.lost += batch.lost_before
        if batch.device_s is None or not self.has_clock:
            self._take_clockless(batch)
            return
        start = 0
        for cut in self._restarts(batch.device_s, batch.arrival_s):
            self._take_clocked(batch, start, cut)
            known = self._gap_why if cut == start else ""
            self.break_off(known or "the device restarted", settling=True)
            start = cut
        self._take_clocked(batch, start, rows)

    # With a device clock ------------------------------------------------------------------------

    def _restarts(self, device: F64, arrival: F64) -> list[int]:
        """The rows at which the device's clock began anew: it went back and did not roll over."""
        wrap = self._spec.device_wrap_s or math.inf
        before = np.concatenate(([self._last.sent_s], device[:-1]))
        found = []
        for row in np.flatnonzero(device < before - self._spec.device_step_s):
            came = arrival[row] - (arrival[row - 1] if row else self._last.arrival_s)
            forward = device[row] - before[row] + wrap
            if not (math.isfinite(wrap) and forward <= came + ROLL_OVER_SLACK_S):
                found.append(int(row))
        return found

    def _take_clocked(self, batch: Batch, start: int, end: int) -> None:
        if start >= end or batch.device_s is None:
            return
        sent, arrival = batch.device_s[start:end], batch.arrival_s[start:end]
        if self._gap_why or not math.isfinite(self._last.sent_s):
            self._begin_segment()
        device = self._unwrapped(sent)
        times = self._line.times(device, arrival)
        if float(np.min(arrival - times)) < -STEP_S:
            self.break_off("the device's clock jumped")
            self._begin_segment()
            device = sent
            times = self._line.times(device, arrival)
        times, estimated = self._spread_ties(times, device)
        gaps = self._find_gaps(device, times)
        self._put(batch.raw[start:end], times, gaps, estimated)
        self._last.sent_s, self._last.device_s = float(sent[-1]), float(device[-1])
        self._last.arrival_s = float(arrival[-1])
        if (fit := self._line.learn(device, arrival)) is not None:
            self._emit(
                ClockFit(
                    self._name,
                    self._segment,
                    fit.offset_s,
                    fit.drift_ppm,
                    fit.spread_s,
                    self._last.session_s,
                )
            )
        if self._line.is_lost:
            self.break_off("the device's clock stood still")

    def _begin_segment(self) -> None:
        self._segment += 1 if self._rows else 0
        self._line = ClockLine()
        self._last.sent_s = self._last.device_s = math.nan
        self.pace.forget()

    def _unwrapped(self, sent: F64) -> F64:
        """Device time with its roll-overs undone, counting on from the last row."""
        wrap = self._spec.device_wrap_s or math.inf
        if not math.isfinite(wrap):
            return sent
        follows = math.isfinite(self._last.sent_s)
        before = self._last.sent_s if follows else float(sent[0])
        turns = self._last.device_s - self._last.sent_s if follows else 0.0
        earlier = np.concatenate(([before], sent[:-1]))
        return np.asarray(sent + turns + wrap * np.cumsum(sent < earlier - wrap / 2))

    def _spread_ties(self, times: F64, device: F64) -> tuple[F64, Bools]:
        """Rows that share one tick of the device's clock, spread over the tick."""
        ties = np.zeros(len(times), dtype=bool)
        ties[1:] = np.diff(device) <= 0
        if not ties.any():
            return times, ties
        firsts = np.flatnonzero(~ties)
        counts = np.diff(np.append(firsts, len(times)))
        place = np.arange(len(times)) - np.repeat(firsts, counts)
        step = self._spec.device_step_s or self.pace.interval_s or 1e-6
        return times + step * place / np.repeat(counts, counts), ties

    def _find_gaps(self, device: F64, times: F64) -> dict[int, Gap]:
        steps = np.diff(device, prepend=self._last.device_s)
        gaps: dict[int, Gap] = {}
        for row, missing in self.pace.gaps(steps):
            if row == 0 and self._lost_before:
                continue  # the device has counted them better
            self.lost += missing
            start = self._last.session_s if row == 0 else float(times[row - 1])
            gaps[row] = Gap(self._name, start, float(times[row]), missing, "rows did not arrive")
        return gaps

    # Without a device clock ---------------------------------------------------------------------

    def _take_clockless(self, batch: Batch) -> None:
        if (
            self._held is None
            and self._rows == 0
            and len(batch.raw) > 1
            and not self.pace.interval_s
        ):
            self._held = batch  # how far apart its rows are, only the next one tells
            return
        arrival = float(batch.arrival_s[-1])
        if self._held is not None:
            held, self._held = self._held, None
            gap = arrival - float(held.arrival_s[-1])
            self._last.arrival_s = float(held.arrival_s[-1])
            self._put_spread(held, gap / len(batch.raw))
        if not math.isfinite(self._last.arrival_s):
            self._last.arrival_s = float(batch.arrival_s[0])
        rows, span, usual = len(batch.raw), arrival - self._last.arrival_s, self.pace.interval_s
        late = usual is not None and span > max(SILENCE_S, SILENCE_ROWS * usual + rows * usual)
        if late and not self._gap_why:
            self._gap_why = "nothing arrived"
        if not self._gap_why:
            self.pace.count(rows, span)
        self._last.arrival_s = arrival
        self._put_spread(batch, span / rows if usual is None else min(span / rows, 1.5 * usual))

    def _put_spread(self, batch: Batch, step: float) -> None:
        """The rows of a burst, evenly before its arrival; rows that came singly stay there."""
        rows = len(batch.raw)
        times = batch.arrival_s
        if times[0] == times[-1]:
            times = times[-1] - step * np.arange(rows - 1, -1, -1.0)
        self._put(batch.raw, times, {}, np.ones(rows, dtype=bool))

    def flush(self, now: float = math.inf) -> None:
        """Hand on a first burst that has waited long for a next one; by default any."""
        if self._held is not None and now - float(self._held.arrival_s[-1]) > HOLD_S:
            held, self._held = self._held, None
            self._put_spread(held, GUESS_S)

    # Handing on ---------------------------------------------------------------------------------

    def _put(self, raw: F64, times: F64, gaps: dict[int, Gap], estimated: Bools) -> None:
        times = _increasing(times, self._last.session_s)
        quality = np.zeros((len(times), len(self._columns)), dtype=np.uint16)
        lost, self._lost_before = self._lost_before or None, 0
        why, self._gap_why = self._gap_why or ("rows did not arrive" if lost else ""), ""
        if why and self._rows:
            gaps[0] = Gap(self._name, self._last.session_s, float(times[0]), lost, why)
        for row, gap in sorted(gaps.items()):
            flag(quality, row, Quality.AFTER_GAP)
            self._emit(GapSeen(gap))
        flag(quality, estimated, Quality.TIME_ESTIMATED)
        self._mark_settling(times, quality)
        kept = np.ascontiguousarray(raw[:, self._columns])
        flag(quality, ~np.isfinite(kept), Quality.MISSING)
        self._emit(Block(self._stream, self._rows, times, kept, quality))
        self._rows += len(times)
        self._last.session_s = float(times[-1])

    def _mark_settling(self, times: F64, quality: U16) -> None:
        if self._settle_rows == 0 and times[0] >= self._settle_until:
            return
        if not math.isfinite(self._settle_until):
            self._settle_until = float(times[0]) + SETTLING_S
        rows = max(self._settle_rows, int(np.searchsorted(times, self._settle_until)))
        flag(quality, slice(rows), Quality.SETTLING)
        self._settle_rows = max(0, self._settle_rows - len(times))

    @property
    def rows(self) -> int:
        """How many rows were handed on."""
        return self._rows


def _increasing(times: F64, last: float) -> F64:
    """The times, where needed pushed up so that each is later than the one before."""
    tick = 1e-7
    if times[0] > last and (len(times) < 2 or bool(np.all(np.diff(times) > 0))):
        return times
    ramp = tick * np.arange(len(times))
    floor = max(float(times[0]), last + tick) if math.isfinite(last) else float(times[0])
    return np.asarray(np.maximum.accumulate(np.maximum(times - ramp, floor)) + ramp)
