"""Figures: what an analysis found, how sure it is, and why what is absent is absent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from gaugebench.model.mark import Mark


@dataclass(frozen=True, slots=True)
class Window:
    """The samples a figure was taken from: first and last instant (s) and how many."""

    start_s: float
    end_s: float
    count: int


@dataclass(frozen=True, slots=True)
class Figure:
    """One number.

    unit: the unit used inside (Pa, s, %, …). expanded: half-width of the k = 2 interval, same unit,
    None where it was not worked out; parts: the standard uncertainties (k = 1) it is made of, by
    name. cautions: reasons not to rely on it, each a sentence.
    """

    value: float
    unit: str
    expanded: float | None = None
    parts: Mapping[str, float] = field(default_factory=dict)
    window: Window | None = None
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Absent:
    """A figure that cannot be had, and why, in words."""

    reason: str


Answer = Figure | Absent


@dataclass(frozen=True, slots=True)
class Event:
    """An instant (s) and the gauge pressure (Pa) at it."""

    time: Figure
    pressure: Answer


class Limiter(StrEnum):
    """What holds the pressure in a loading."""

    RELIEF = "relief"
    CUT_OFF = "cut-off"
    TORQUE = "torque limit"
    PORT_RELIEF = "port relief"
    BOOST = "boost stage"
    ENGINE = "engine"
    LEVER = "lever not full"
    UNCLEAR = "unclear"


@dataclass(frozen=True, slots=True)
class LimitedBy:
    """What holds the pressure, with the reason in words."""

    limiter: Limiter
    reason: str


@dataclass(frozen=True, slots=True)
class Plateau:
    """A level at which a pressure stood, Pa gauge, and from when to when, s."""

    start_s: float
    end_s: float
    pressure_pa: float


@dataclass(frozen=True, slots=True)
class PumpFigures:
    """The figures of one pump in one loading, as the guide defines them (figures.md).

    plateaus: where the pressure stood at two levels in one hold, both in order of time; else none.
    """

    initial: Answer
    settled: Answer
    peak: Answer
    raw_peak: Answer
    t50: Answer
    settle: Answer
    overshoot: Answer
    ripple_pp: Answer
    ripple_rms: Answer
    relief_crack: Event | Absent
    override: Answer
    destroke_onset: Event | Absent
    control_settled: Answer
    limited_by: LimitedBy
    plateaus: tuple[Plateau, ...] = ()


@dataclass(frozen=True, slots=True)
class LoadingFigures:
    """One loading: a stretch in which main pressure is driven up and held."""

    start_s: float
    end_s: float
    pumps: Mapping[int, PumpFigures]
    imbalance: Answer
    running_imbalance: Answer
    sync_lag: Answer
    in_sync: Answer
    cycle_time: Answer


@dataclass(frozen=True, slots=True)
class FigureSet:
    """All figures of a trace, with the settings they were taken with, in order of time."""

    loadings: tuple[LoadingFigures, ...]
    settings: Mapping[str, float | str]
    marks: tuple[Mark, ...] = ()
    reference: str = "gauge"
    cautions: tuple[str, ...] = ()
