"""Stuck, clipped and floored stretches of a channel, found from its repeated values."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from gaugebench.analyse.runs import Run, longest_by_chance, repeats
from gaugebench.analyse.sick import Ailment
from gaugebench.model.arrays import F64

_LEAST = 20
"""No shorter run is taken for stuck, in samples."""
_CUT = 5
"""No shorter run is taken for clipped."""
_TIMES_CHANCE = 6.0
"""A run must be so many times longer than the longest that chance allows."""
_TIMES_CHANCE_REST = 20.0
"""The same where the machine rests, so that only noise tells a live channel from a dead one."""
_TIMES_CHANCE_TOP = 2.0
"""The same at the channel's upper end, which noise reaches seldom."""
_SPREAD = 0.2
"""The share of its largest value over which a channel must move to show an upper end."""
_STILL = 0.02
"""A channel that moves by a smaller share of its largest value may well repeat itself."""
_CALM, _QUIET = 8, 0.3
"""A channel is quiet where it spends this share of its time in runs of at least so many samples."""
_ENOUGH = 50
"""Samples outside the run that show how the channel behaves."""


def flat_stretches(
    values: F64, others: Sequence[F64], top: float | None = None
) -> tuple[tuple[Ailment, Run], ...]:
    """The runs that are too long for chance, each with what it means, in order.

    values: shape (n,), any unit, NaN where there is none. others: channels sampled at the same
    instants, which tell whether the machine moves; a machine at rest is no fault. top: the upper
    end of the range.
    """
    held = repeats(values)
    if not held.inside(_CUT):
        return ()
    long = _having_value(held.longer_than(_LEAST), values)
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    spread = (high - low) / abs(high) if high else 0.0
    if 0.0 < spread < _STILL:
        return ()
    outside = held.count - sum(len(run) for run in long)
    usual = longest_by_chance(held.share(long), outside) if outside >= _ENOUGH else 1.0
    at_top = {
        run.first: run
        for run in held.longer_than(_CUT)
        if spread > _SPREAD and values[run.first] == high >= 0.98 * (top or high)
    }
    calm = held.inside(_CALM)
    found: list[tuple[Ailment, Run]] = []
    for _, run in sorted({**at_top, **{run.first: run for run in long}}.items()):
        # A channel that is calm elsewhere too is a quiet or coarse one: its plateaus are no fault.
        is_quiet = calm - len(run) > _QUIET * (held.count - len(run))
        if run.first in at_top:
            is_end = top is not None or not is_quiet
            chance = _chance_nearby(values, run, without=high)
            if is_end and len(run) >= _TIMES_CHANCE_TOP * chance:
                found.append((Ailment.CLIPPED, run))
            continue
        chance = max(usual, _chance_nearby(values, run))
        if len(run) < _TIMES_CHANCE * chance:
            continue
        value = float(values[run.first])
        if value == low < 0.05 * high and _slides(values, run):
            found.append((Ailment.FLOORED, run))
        elif is_quiet and low < high and _slides(values, run):
            continue
        elif _moves(others, run, by_noise=len(run) > _TIMES_CHANCE_REST * chance and value > low):
            found.append((Ailment.STUCK, run))
    return tuple(found)


def _having_value(runs: tuple[Run, ...], values: F64) -> tuple[Run, ...]:
    return tuple(run for run in runs if np.isfinite(values[run.first]))


def _chance_nearby(values: F64, run: Run, without: float | None = None) -> float:
    """The longest run that chance allows, judged by how the channel behaves about this one.

    without: a value to leave out, since the samples at an upper end say nothing of chance.
    """
    reach = max(4 * _ENOUGH, 2 * len(run))
    around = np.concatenate(
        (values[max(0, run.first - reach) : run.first], values[run.stop : run.stop + reach])
    )
    if without is not None:
        around = around[around != without]
    if len(around) < (_ENOUGH if without is None else _CUT):
        return 1.0
    return longest_by_chance(repeats(around).share(), len(around))


def _moves(others: Sequence[F64], run: Run, *, by_noise: bool) -> bool:
    """Whether another channel moves during the run; with `by_noise`, whether it shows any life."""
    for other in others:
        part = other[run.first : run.stop]
        part = part[np.isfinite(part)]
        if not len(part):
            continue
        if by_noise and np.count_nonzero(np.diff(part)) > 0.2 * len(part):
            return True
        if float(np.ptp(part)) > 0.05 * float(np.nanmax(np.abs(other))) > 0.0:
            return True
    return False


def _slides(values: F64, run: Run) -> bool:
    """Whether the value was reached, or is left, by a slide and not by a jump."""
    before = values[max(0, run.first - 12) : run.first + 1]
    after = values[run.stop - 1 : run.stop + 12][::-1]
    for path in (before, after):
        steps = np.abs(np.diff(path))
        steps = steps[np.isfinite(steps)]
        if len(steps) > 3 and steps[-1] <= 5.0 * float(np.max(steps[:-1])):
            return True
    return False
