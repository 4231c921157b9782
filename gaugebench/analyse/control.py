"""A pump's control pressure as its stroke sees it: how far it stands from idle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse.hold import Hold
from gaugebench.analyse.rise import Rise
from gaugebench.analyse.samples import Samples, smoothed
from gaugebench.analyse.settings import Sense
from gaugebench.analyse.track import PumpSpan
from gaugebench.model.arrays import F64

SMOOTH_S = 0.006
PILOT_SHARE = 0.7
"""Full lever brings the control pressure to about this share of the pilot supply that feeds it
(25–35 bar of 35–45 bar; common practice, no source). Used where the trace shows no full lever."""
IDLE_SHARE = 0.8
"""Where rising pressure de-strokes, full lever takes away about this share of the idle level."""


@dataclass(frozen=True, slots=True, eq=False)
class Control:
    """The control pressure of one pump round one loading.

    times, stroke: shape (n,), s and Pa: how far the control pressure has moved from its idle level
    towards full stroke; a drop of it de-strokes. soft: the same, smoothed. idle: Pa. sign: +1
    where falling pressure de-strokes, −1 where rising does. inferred: the sense was read off the
    trace. settled: mean stroke over the steady hold, Pa. full: the stroke of full lever, as far as
    the trace (or the pilot supply) tells; full_known: that it stood there, or the supply is known.
    bump: how far stroke rises above `settled` as the lever
    is let go, as a share of it; None where the trace ends before. servo: the stroke is read off a
    servo port.
    """

    times: F64
    stroke: F64
    soft: F64
    idle: float
    sign: float
    inferred: bool
    settled: float
    full: float
    full_known: bool
    bump: float | None
    noise: float
    interval_s: float
    servo: bool = False


def read_control(
    control: Samples,
    span: PumpSpan,
    rise: Rise,
    hold: Hold,
    sense: Sense,
    pilot: float | None,
    *,
    servo: bool = False,
) -> Control | None:
    """What the control pressure did, or None where its idle level is not in the trace.

    pilot: the pilot supply's pressure, Pa, or None. servo: `control` is the share of main pressure
    on a servo port; it has a sense of its own, always inferred, and no pilot supply behind it.
    """
    if servo:
        sense, pilot = Sense.AUTO, None
    before = control.part(span.start_s - 1.5, span.start_s - 0.4)
    if len(before) < 3:
        before = control.part(span.start_s - 3.0, span.start_s - 0.25)
    held = control.part(hold.start_s, hold.end_s)
    if len(before) < 3 or len(held) < 3:
        return None
    idle = float(np.median(before.values))
    soft = smoothed(control.values, max(1, round(SMOOTH_S / control.interval_s)))
    loaded = (control.times >= span.start_s - 0.2) & (control.times < hold.end_s)
    high, low = float(np.max(soft[loaded])) - idle, idle - float(np.min(soft[loaded]))
    sign = 1.0 if high >= low else -1.0
    if sense is not Sense.AUTO:
        sign = 1.0 if sense is Sense.FALLING else -1.0
    stroke, soft = sign * (control.values - idle), sign * (soft - idle)
    settled = sign * (float(np.mean(held.values)) - idle)
    full = max(high if sign > 0 else low, 1e-9)
    if rise.from_load:
        pass  # the actuator travelled at the stroke that the lever asks for: it is in the trace
    elif sign < 0 and not servo:
        full = max(full, IDLE_SHARE * idle)
    elif pilot is not None:
        full = max(full, PILOT_SHARE * pilot)
    full_known = rise.from_load or (not servo and (sign < 0 or pilot is not None))
    bump = None
    if not span.cut_end and settled > 0:
        end = (control.times >= hold.drop_s - 0.25) & (control.times < hold.drop_s + 0.35)
        if end.any():
            bump = (float(np.max(soft[end])) - settled) / settled
    return Control(
        times=control.times,
        stroke=stroke,
        soft=soft,
        idle=idle,
        sign=sign,
        inferred=sense is Sense.AUTO,
        settled=settled,
        full=full,
        full_known=full_known,
        bump=bump,
        noise=control.noise,
        interval_s=control.interval_s,
        servo=servo,
    )
