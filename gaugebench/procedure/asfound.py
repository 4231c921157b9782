"""The job as it was found: what was read before anything was turned."""

from __future__ import annotations

from dataclasses import replace

from gaugebench.model.job import Phase
from gaugebench.procedure.state import JobState


def as_found(state: JobState) -> JobState:
    """The same job with the readings, times and walks of as-found alone, and no screw turned."""
    phase = Phase.AS_FOUND
    return replace(
        state,
        readings=tuple((n, r) for n, r in state.readings if r.phase is phase),
        cycles=tuple(c for c in state.cycles if c.phase is phase),
        walks=tuple(w for w in state.walks if w.phase is phase),
        tracks=tuple(t for t in state.tracks if t.phase is phase),
        zeros=tuple(z for z in state.zeros if z.moment == "before"),
        turns=(),
        not_adjusted={},
        locked=None,
    )
