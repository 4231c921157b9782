"""Marks: instants that matter, found by the program or set by hand."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class MarkKind(StrEnum):
    """What happened at the instant."""

    LOADING_START = "loading start"
    LOADING_END = "loading end"
    RELIEF_CRACK = "relief crack"
    DESTROKE_ONSET = "de-stroke onset"
    SETTLED = "settled"
    IN_SYNC = "pumps in sync"
    PEAK = "peak"
    NOTE = "note"
    ALARM = "alarm"
    GAP = "gap"


class Standing(StrEnum):
    """How sure a mark is."""

    PROVISIONAL = "provisional"
    FINAL = "final"
    BY_HAND = "by hand"


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark.

    key: the same for a provisional mark, its refinement and its final form, so that a mark never
        doubles, for example `2/pump1/relief crack` (loading number from 0, pump, kind).
    time_s: on the session clock. pump: from 1, or None where it concerns the machine.
    pressure_pa: gauge, at the instant, where it has meaning.
    """

    key: str
    kind: MarkKind
    time_s: float
    standing: Standing
    pump: int | None = None
    pressure_pa: float | None = None
    note: str = ""
