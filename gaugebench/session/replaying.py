"""A recorded trace as a source: driver `replay`, and the kit and session that play a trace.

It is a driver that stands here and not among the plugins, because it reads traces.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import Field

from gaugebench.driver import (
    Batch,
    Clock,
    Driver,
    DriverOptions,
    Input,
    Notice,
    Reading,
    Source,
    Stream,
)
from gaugebench.errors import SourceError, TraceError
from gaugebench.model.arrays import F64
from gaugebench.model.channel import Channel
from gaugebench.model.kit import Kit, kit_from
from gaugebench.model.trace import Series, Trace
from gaugebench.quantity import Dimension

SLOWEST, FASTEST = 0.1, 20.0
MOST_AT_ONCE_S = 0.5
"""A read hands back this much of the trace's time at most, however long nobody read."""

ROUNDING_S = 1e-9
"""A row whose instant is as good as reached is due; else a wait could be too short to end."""


class ReplayOptions(DriverOptions):
    """Options of `replay`."""

    trace: Path = Field(description="the trace to play: a trace file, or a CSV of the program's")
    speed: float = Field(
        1.0, ge=SLOWEST, le=FASTEST, description="seconds of the trace in one second"
    )
    start_s: float = Field(0.0, ge=0, description="where in the trace to begin, s from its start")


class _Group:
    """Series that share their times: a stream."""

    def __init__(self, name: str, series: Sequence[Series], start_s: float) -> None:
        self.series = tuple(series)
        self.times = series[0].times
        self.next = int(np.searchsorted(self.times, start_s))
        self.values = np.column_stack([s.values for s in series])
        interval = series[0].interval_s
        self.rate_hz = 1 / interval if interval > 0 else None
        self.name = name


class ReplaySource(Source):
    """A trace being played: a read hands back the rows that have come due.

    Times are those of the trace divided by the speed; each row is due at its own instant, so that
    nothing adds up however irregularly it is read.
    """

    def __init__(
        self, trace: Trace, inputs: Sequence[Input], clock: Clock, speed: float, start_s: float
    ) -> None:
        wanted = {i.name for i in inputs}
        known = {s.channel.name for s in trace.series}
        if missing := sorted(wanted - known):
            raise SourceError(
                f"The trace has no channel “{missing[0]}”; it has {', '.join(sorted(known))}."
            )
        self._clock = clock
        self._speed = speed
        self._from_s = trace.span_s[0] + start_s
        self._groups = [
            _Group(name, series, self._from_s) for name, series in _by_times(trace, wanted)
        ]
        self._streams = tuple(
            Stream(
                g.name,
                tuple(Input(s.channel.name, s.channel.dimension.value) for s in g.series),
                None if g.rate_hz is None else g.rate_hz * speed,
                math.inf,
                0.0,
            )
            for g in self._groups
        )
        self._has_ended = False
        self._began = clock.now()

    @property
    def streams(self) -> tuple[Stream, ...]:
        """One stream for each time vector of the trace."""
        return self._streams

    def read(self, timeout_s: float) -> Reading:
        """The rows that have come due; see `Source.read`."""
        reached = self._reached()
        if not any(g.next < len(g.times) and g.times[g.next] <= reached for g in self._groups):
            nexts = [float(g.times[g.next]) for g in self._groups if g.next < len(g.times)]
            if not nexts:
                return self._end(timeout_s)
            self._clock.sleep(min(timeout_s, (min(nexts) - reached + ROUNDING_S) / self._speed))
            reached = self._reached()
        batches = [self._batch(n, reached) for n in range(len(self._groups))]
        return Reading([b for b in batches if len(b.raw)])

    def close(self) -> Reading:
        """Nothing is held back."""
        return Reading()

    def _reached(self) -> float:
        """Up to where the trace has been played, s on the trace's clock."""
        return self._from_s + (self._clock.now() - self._began) * self._speed + ROUNDING_S

    def _batch(self, number: int, reached: float) -> Batch:
        group = self._groups[number]
        start = group.next
        if start < len(group.times):
            limit = min(reached, float(group.times[start]) + MOST_AT_ONCE_S * self._speed)
            group.next = int(np.searchsorted(group.times, limit, side="right"))
        rows = slice(start, group.next)
        device: F64 = (group.times[rows] - self._from_s) / self._speed
        return Batch(number, group.values[rows], self._began + device, device)

    def _end(self, timeout_s: float) -> Reading:
        self._clock.sleep(timeout_s)
        if self._has_ended:
            return Reading()
        self._has_ended = True
        return Reading(
            notices=(Notice("The trace has been played to its end.", self._clock.now()),)
        )


class Replay(Driver[ReplayOptions]):
    """Plays traces."""

    name = "replay"
    summary = "a recorded trace, played as if it came from the kit"
    simulated = True
    options = ReplayOptions

    def open(self, options: ReplayOptions, inputs: Sequence[Input], clock: Clock) -> Source:
        """Read the trace and begin to play it. Raises `SourceError`."""
        from gaugebench.store.opening import open_trace

        try:
            trace = open_trace(options.trace)
        except TraceError as fault:
            raise SourceError(f"The trace cannot be played: {fault}") from fault
        return ReplaySource(trace, inputs, clock, options.speed, options.start_s)


DRIVER = Replay()


def replay_kit(path: Path, trace: Trace, speed: float = 1.0) -> Kit:
    """The kit that plays `trace`, which is in the file `path`: its channels in the inside unit.

    What is recorded through it is marked as not from a machine.
    """
    return kit_from(
        {
            "schema": 1,
            "name": f"replay of {path.name}",
            "simulated": True,
            "source": [
                {
                    "driver": Replay.name,
                    "name": "replay",
                    "options": {"trace": str(path), "speed": speed},
                    "channel": [_entry(s.channel) for s in trace.series if _is_playable(s)],
                }
            ],
        }
    )


def _is_playable(series: Series) -> bool:
    return series.channel.dimension not in {Dimension.OTHER, Dimension.TIME}


def _entry(channel: Channel) -> dict[str, Any]:
    unit = channel.dimension.value
    transducer, chain = channel.transducer, channel.chain
    facts: dict[str, Any] = {
        "input": channel.name,
        "role": str(channel.role) if channel.role else None,
        "unit": unit,
        "reference": channel.reference,
        "control_port": channel.control_port,
        "serial": transducer.serial,
        "accuracy_pct_fs": transducer.accuracy_pct_fs,
        "calibrated_on": transducer.calibrated_on,
    }
    for key, value in (("proof", transducer.proof_pa), ("burst", transducer.burst_pa)):
        facts[key] = None if value is None else f"{value!r} {unit}"
    if chain.range_low is not None and chain.range_high is not None:
        facts["range"] = [f"{chain.range_low!r} {unit}", f"{chain.range_high!r} {unit}"]
    return {key: value for key, value in facts.items() if value is not None}


def _by_times(trace: Trace, wanted: set[str]) -> list[tuple[str, list[Series]]]:
    """The series wanted, grouped by their stream and time vector, in the trace's order."""
    groups: list[tuple[str, list[Series]]] = []
    for series in trace.series:
        if series.channel.name not in wanted or not len(series):
            continue
        for name, group in groups:
            if name == series.stream and np.array_equal(group[0].times, series.times):
                group.append(series)
                break
        else:
            groups.append((series.stream, [series]))
    return groups
