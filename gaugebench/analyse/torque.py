"""Whether a pump's stroke follows the torque limit: stroke × sum of main pressures is constant.

The model. A torque (or power) limit de-strokes the pumps so that stroke times the sum of the main
pressures stays at one value K; its valve takes the sum with a lag. While the sum is low the lever
asks for less than that, so the stroke is the lesser of both: min(what it has reached so far, K /
lagged sum). The stroke is known up to its zero only: the idle level of the control pressure stands
for some stroke, which is tried over. A cut-off departs from this by most of its swing, since it
takes the stroke away over the last few per cent of pressure, at a sum that hardly changes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse.control import Control
from gaugebench.analyse.hold import Hold
from gaugebench.analyse.rise import Rise
from gaugebench.analyse.samples import smoothed
from gaugebench.model.arrays import F64

LAGS_S = (0.0, 0.015, 0.03, 0.06, 0.1, 0.16, 0.25)
IDLE_STROKES = (0.0, 0.1, 0.2, 0.3, 0.45)
"""What stroke the idle level may stand for, as a share of full stroke's way from it."""
EXPLAINED = 0.15
"""The slide is explained where the model is nowhere off by more than this share of the swing."""
LEAST_SWING = 0.2
"""A slide by less than this share of full stroke does not tell the two apart by itself."""
_STEP_S, _POINTS = 0.004, 900


@dataclass(frozen=True, slots=True)
class Slide:
    """How the stroke gave way before the hold.

    swing: from the greatest stroke to that of the hold, as a share of full stroke. off: the largest
    departure from the torque limit's model, as a share of the swing.
    """

    swing: float
    off: float

    @property
    def is_plain(self) -> bool:
        """Whether the slide alone shows that the torque limit made it."""
        return self.swing >= LEAST_SWING and self.is_explained

    @property
    def is_explained(self) -> bool:
        """Whether the torque limit explains the slide."""
        return self.off < EXPLAINED


def slide_of(
    control: Control, total_times: F64, total: F64, rise: Rise, hold: Hold
) -> Slide | None:
    """The slide of the stroke between the rise's foot and the hold; None where there is none.

    total_times (s), total (Pa): shape (n,), the sum of the main pressures.
    """
    inside = (control.times >= rise.foot_s - 0.3) & (control.times < hold.end_s)
    stride = max(1, round(_STEP_S / control.interval_s))
    times, stroke = control.times[inside][::stride], control.soft[inside][::stride]
    # The hold itself says nothing new after a while.
    times, stroke = times[:_POINTS], stroke[:_POINTS]
    swing = float(np.max(stroke)) - control.settled if len(times) >= 8 else 0.0
    if swing <= 6 * control.noise or not len(total_times):
        return None
    pressure = np.interp(times, total_times, total)
    held = (total_times >= hold.start_s) & (total_times < hold.end_s)
    at_hold = float(np.mean(total[held])) if held.any() else float(pressure[-1])
    off = np.inf
    for lag_s in LAGS_S:
        felt = np.maximum(_lagged(times, pressure, lag_s), 1.0)
        off = min(off, *(_off(stroke, felt, at_hold, control, zero) for zero in IDLE_STROKES))
    return Slide(swing / control.full, off / swing)


def _off(stroke: F64, pressure: F64, at_hold: float, control: Control, zero: float) -> float:
    """The largest departure from the model, Pa of control pressure."""
    known = stroke + zero * control.full
    limit = (control.settled + zero * control.full) * at_hold / pressure
    rest = known - np.minimum(np.maximum.accumulate(known), limit)
    top = int(np.argmax(known))
    # Before its top the stroke follows the lever, which may ask for less than the limit allows.
    rest[:top] = np.maximum(rest[:top], 0.0)
    return float(np.max(np.abs(smoothed(rest, 3))))


def _lagged(times: F64, values: F64, lag_s: float) -> F64:
    """The answer of a first-order lag, s, to values (n,) at times (n,)."""
    if lag_s <= 0:
        return values
    share = -np.expm1(-np.diff(times, prepend=times[0]) / lag_s)
    out, state = np.empty_like(values), float(values[0])
    for index, (part, value) in enumerate(zip(share.tolist(), values.tolist(), strict=True)):
        state += part * (value - state)
        out[index] = state
    return out
