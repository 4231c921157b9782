"""Minimum and maximum over runs of samples, so that a long trace is drawn without reading it."""

from __future__ import annotations

import numpy as np

from gaugebench.model.arrays import F64


def reduce(low: F64, high: F64, step: int) -> tuple[F64, F64]:
    """Smallest and largest of each run of `step` samples; the last run may be shorter.

    low, high: shape (n,), the same array for samples. A run without any value gives NaN. Runs are
    anchored to the sample index, so a spike stays in its run however the picture is moved.
    """
    starts = np.arange(0, len(low), step)
    if not len(starts):
        return low[:0].copy(), high[:0].copy()
    # fmin and fmax pass over NaN and raise no warning where a run has no value at all.
    return np.fmin.reduceat(low, starts), np.fmax.reduceat(high, starts)
