"""How a record does at this moment."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path


class Phase(StrEnum):
    """What the recorder is at."""

    RECORDING = "recording"
    TROUBLE = "trouble"
    SEALING = "sealing"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class RecordState:
    """A snapshot.

    path: the trace it becomes. seconds: from the first to the last sample taken in. samples: rows
    times channels. bytes: written to the journal. free_bytes: on its disk, None until asked.
    hours_left: at the present rate, with what sealing needs set aside; None where that cannot be
    told. queue: events that wait to be written; waiting_bytes: the memory they take. lost: samples
    given up since the memory set aside was full. trouble: one sentence, or None where all is well.
    """

    phase: Phase
    path: Path
    seconds: float = 0.0
    samples: int = 0
    bytes: int = 0
    free_bytes: int | None = None
    hours_left: float | None = None
    queue: int = 0
    waiting_bytes: int = 0
    lost: int = 0
    trouble: str | None = None
