"""Where a line must break. No Qt."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gaugebench.model.arrays import F64, U16
from gaugebench.model.quality import Quality

GAP_STEPS = 2.5
"""A step of more than this many usual steps is a gap and no line crosses it."""


def usual_step(times: F64) -> float:
    """The usual time between two samples, s; infinite where there are fewer than two."""
    if len(times) < 2:
        return float("inf")
    # A few thousand steps tell it; a day of samples need not be sorted for that.
    steps = np.diff(times[:4096])
    return float(np.median(steps))


def breaks(times: F64, quality: U16 | None = None, step_s: float | None = None) -> NDArray[np.intp]:
    """The indices of samples before which a line breaks; never 0.

    times: shape (n,), s. quality: shape (n,) or (n, channels). step_s: the usual step, worked out
    from the times where not given.
    """
    if len(times) < 2:
        return np.empty(0, dtype=np.intp)
    limit = GAP_STEPS * (usual_step(times) if step_s is None else step_s)
    found = np.diff(times) > limit
    if quality is not None:
        flagged = (quality[1:] & np.uint16(Quality.AFTER_GAP)) != 0
        found |= flagged if flagged.ndim == 1 else flagged.any(axis=1)
    return np.flatnonzero(found) + 1
