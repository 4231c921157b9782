"""What a record holds beside the trace proper: kept in the file, not needed for figures."""

from __future__ import annotations

from dataclasses import dataclass

from gaugebench.model.event import ClockFit, Rejected, SourceSaid
from gaugebench.model.figures import FigureSet


@dataclass(frozen=True, slots=True)
class Annexe:
    """rejected: what could not be read, with its first bytes. journal_id: of the journal the file
    was sealed from, empty for an import. figures: as last saved, None where there are none.
    """

    rejected: tuple[Rejected, ...] = ()
    said: tuple[SourceSaid, ...] = ()
    fits: tuple[ClockFit, ...] = ()
    journal_id: str = ""
    figures: FigureSet | None = None
