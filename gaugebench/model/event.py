"""What happens while a kit is read: the events that acquisition hands on and the record keeps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from gaugebench.model.block import Block
from gaugebench.model.channel import StreamSpec
from gaugebench.model.mark import Mark
from gaugebench.model.trace import Gap, Particulars


@dataclass(frozen=True, slots=True)
class Setup:
    """All that must be known to make sense of the blocks of a session.

    started: the wall time, with its zone, at which the session clock stood at 0.
    kit: the kit as it was read, so that it can be had again. streams: in the order that
    `Block.stream` counts them.
    """

    streams: tuple[StreamSpec, ...]
    started: datetime
    kit: Mapping[str, Any] = field(default_factory=dict)
    particulars: Particulars = field(default_factory=Particulars)
    simulated: bool = False
    origin: str = ""


@dataclass(frozen=True, slots=True)
class Rejected:
    """Bytes that arrived and could not be read: how many pieces of a kind, and the first of them.

    source: the source's name in the kit. samples: raw bytes, capped by the sender.
    """

    source: str
    kind: str
    count: int
    time_s: float
    samples: tuple[bytes, ...] = ()


@dataclass(frozen=True, slots=True)
class GapSeen:
    """Samples of a stream were lost between two instants of the session clock."""

    gap: Gap


@dataclass(frozen=True, slots=True)
class SourceSaid:
    """A source went away, came back, restarted or said something. `alive`: whether it delivers."""

    source: str
    text: str
    time_s: float
    alive: bool = True


@dataclass(frozen=True, slots=True)
class ClockFit:
    """How a stream's device clock was fitted to the session clock.

    `session = offset_s + (1 + drift_ppm * 1e-6) * device`, with the device time unwrapped.
    spread_s: standard deviation of what was left over. segment: counts the device's restarts.
    """

    stream: str
    segment: int
    offset_s: float
    drift_ppm: float
    spread_s: float
    time_s: float


@dataclass(frozen=True, slots=True)
class MarkSet:
    """A mark was set, refined or made final; the newest of one key stands."""

    mark: Mark


Event = Block | Rejected | GapSeen | SourceSaid | ClockFit | MarkSet
