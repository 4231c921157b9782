"""What the book hands out: plain rows."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class TraceRow:
    """A trace that belongs to a job. started: ISO 8601, or empty. seconds: how long it is."""

    path: Path
    started: str
    seconds: float
    simulated: bool


@dataclass(frozen=True, slots=True)
class JobRow:
    """A job. opened_on: ISO date of its first trace. traces: in order of time."""

    number: int
    job: str
    machine: str
    serial: str
    customer: str
    site: str
    technician: str
    opened_on: str
    notes: str
    traces: tuple[TraceRow, ...] = ()


@dataclass(frozen=True, slots=True)
class MeterReading:
    """An hour meter's reading. replaced: it is the first of a new meter. questioned: it is lower
    than the one before and nobody has said why. total_h: hours of the machine, over all its meters.
    """

    read_on: str
    hours: float
    replaced: bool
    questioned: bool
    total_h: float


@dataclass(frozen=True, slots=True)
class ZeroCheck:
    """A transducer's reading with no pressure on it."""

    checked_at: str
    zero_pa: float
    note: str


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """What making the book anew came to. left_out: files that are no traces, each with why."""

    traces: int
    jobs: int
    left_out: tuple[str, ...]
