"""The two events of a pump in a loading, as figures: relief crack and de-stroke onset."""

from __future__ import annotations

import numpy as np

from gaugebench.analyse import uncertainty
from gaugebench.analyse.answers import figure
from gaugebench.analyse.budget import RECORD_LAG, TIME
from gaugebench.analyse.destroke import NoOnset, find_onset
from gaugebench.analyse.hold import Hold
from gaugebench.analyse.holding import Holding
from gaugebench.analyse.kneefit import Knee
from gaugebench.analyse.lag import Lag
from gaugebench.analyse.relief import find_knee
from gaugebench.analyse.ripple import Ripple
from gaugebench.analyse.rise import Rise
from gaugebench.analyse.samples import NO_CLOCK, Samples
from gaugebench.model.figures import Absent, Answer, Event, Figure, LimitedBy, Limiter, Window
from gaugebench.model.role import ControlPort

ENOUGH_SAMPLES = 5
OPENS_S = 0.002
"""Standard uncertainty (k = 1) of how late a relief's flow follows its pressure, s. While it lags,
the pressure rises on: the bend lies above the pressure at which the first oil passed (common
practice, no source)."""
OPENING = "opening of the relief"
SLOWED_FIRST = (
    "The rise slows down long before it bends: the relief may have opened anywhere on it."
)
LEAST_OVERRIDE = 0.03
"""A relief that passes a pump's flow stands by at least this share above its crack (3 to 8 % for a
pilot-operated one; common practice, no source). Where the hold lies nearer to the crack that was
found, the crack may lie lower by what is short of it."""
CRACK_SHARE = 0.003
"""What a valve that does not follow the model costs (k = 1), as a share of the crack. Found on
simulated holds over stiff and soft, prompt and slow valves."""
SLOWED = 0.5
"""Below this share of its slope half-way up, a rise has slowed down long before it bends: a torque
limit does that, and a relief that opened earlier does it too."""
SLOWS = "slowing of the rise"
SLOWS_FROM = 0.7
"""From this share of the hold up a relief is sought."""


def relief_crack(
    main: Samples, rise: Rise, hold: Hold, limited: LimitedBy, lag: Lag, ripple: Ripple | None
) -> Event | Absent:
    """The crack, sought only where oil goes over the relief in the hold."""
    if limited.limiter is Limiter.CUT_OFF:
        return Absent("The cut-off holds the pressure and the relief is shut in the hold.")
    if limited.limiter is Limiter.LEVER:
        return Absent("The lever was not full, and no relief opened.")
    if limited.limiter not in (Limiter.RELIEF, Limiter.BOOST):
        return Absent("It is not plain that the relief opened.")
    if not main.has_clock(rise.foot_s, rise.top_s):
        return Absent(NO_CLOCK)
    knee = find_knee(main, rise, hold, lag, ripple)
    if isinstance(knee, Absent):
        return knee
    window = Window(rise.foot_s, rise.top_s, knee.count)
    cautions = main.cautions(rise.foot_s, rise.top_s)
    # The fit's own spread understates what the model leaves out.
    first = hold.level if hold.other is None else min(hold.level, hold.other[0])
    above = max(0.0, first - knee.crack)
    # As much of the way up to the hold may lie below the crack that was found as above it.
    model = float(np.hypot(uncertainty.rectangular(above), CRACK_SHARE * knee.crack))
    short = uncertainty.rectangular(max(0.0, LEAST_OVERRIDE * knee.crack - above))
    model = float(np.hypot(model, short))
    slowed = uncertainty.rectangular(_lower(knee, above, hold))
    opening = float(np.hypot(knee.crack - knee.late, OPENS_S * knee.slope))
    time = figure(
        knee.crack_s,
        "s",
        {
            "fit": knee.crack_s_sd,
            "lag of the transducer": knee.lag_s,
            # What shifts the crack along the rise shifts its instant with it.
            "model": float(np.hypot(model, slowed)) / knee.slope if knee.slope > 0 else 0.0,
            OPENING: max(OPENS_S, abs(knee.crack_s - knee.late_s)),
        },
        window,
        cautions,
    )
    parts = {"fit": knee.crack_sd, "model": model, OPENING: opening, SLOWS: slowed}
    if knee.speed < SLOWED:
        cautions += (SLOWED_FIRST,)
    pressure = figure(knee.crack, "Pa", parts, window, cautions)
    return Event(time, pressure) if isinstance(time, Figure) else time


def _lower(knee: Knee, above: float, hold: Hold) -> float:
    """How far below the crack that was found the relief may have opened by the rise's slowing, Pa.

    What takes a part of the flow away before the rise bends may be the relief itself, opened
    earlier. It takes all of the flow at the hold, and a part of it in proportion to how far the
    pressure stands above its crack. Where the flow was still coming up it takes more than the slope
    tells: of a rise that has nearly died away before it bends, anywhere from SLOWS_FROM on is
    possible.
    """
    if not 0.0 < knee.speed < 1.0:
        return 0.0
    most = max(0.0, knee.crack - SLOWS_FROM * hold.level)
    anywhere = max(0.0, 1 - knee.speed / SLOWED) * most
    return min(max(above * (1 / knee.speed - 1), anywhere), most)


def destroke_onset(
    holding: Holding,
    main: Samples,
    rise: Rise,
    hold: Hold,
    lag: Lag,
) -> Event | Absent:
    """The de-stroke onset."""
    control = holding.control
    if control is None:
        return Absent("No usable control pressure of this pump is in the trace.")
    if holding.port is ControlPort.SIGNAL:
        return Absent("It is not visible at this port: the lever's signal does not show it.")
    if not main.has_clock(rise.foot_s, rise.top_s):
        return Absent(NO_CLOCK)
    if holding.follows_torque:
        return Absent(
            "The control pressure gives way with the sum of the main pressures: that is the "
            "torque limit."
        )
    cut_off = holding.limited.limiter is Limiter.CUT_OFF
    onset = find_onset(control, main, rise, hold, lag, cut_off=cut_off)
    if isinstance(onset, NoOnset):
        return Absent(onset.reason)
    if onset.samples_in_rise < 2:
        return Absent("The rise is too fast for the sample rate to place it.")
    window = Window(rise.foot_s, onset.time_s, len(main.part(rise.foot_s, onset.time_s)))
    cautions = main.cautions(rise.foot_s, onset.time_s)
    if main.gaps(rise.top_s - 0.05, onset.time_s):
        return Absent("Samples are missing where the pump de-strokes.")
    time = figure(
        onset.time_s,
        "s",
        {
            "fit": onset.time_sd,
            TIME: uncertainty.resolution(control.interval_s),
            RECORD_LAG: lag.behind,
        },
        window,
        cautions,
    )
    if not isinstance(time, Figure):
        return time
    if onset.samples_in_rise < ENOUGH_SAMPLES:
        return Event(
            time, Absent("The rise is too fast for the sample rate to tell the pressure then.")
        )
    pressure = figure(onset.pressure, "Pa", onset.pressure_parts, window, cautions)
    return Event(time, pressure)


def override(crack: Event | Absent, settled: Answer, onset: Event | Absent) -> Answer:
    """(settled − crack) / crack, in %, only where the pump stays loaded over the relief."""
    if isinstance(crack, Absent):
        return Absent("There is no crack pressure.")
    if isinstance(onset, Event):
        return Absent("The pump de-stroked: the flow over the relief is not near its full flow.")
    if not isinstance(crack.pressure, Figure) or not isinstance(settled, Figure):
        return Absent("There is no crack pressure.")
    low, high = crack.pressure, settled
    ratio = high.value / low.value
    parts = {
        "crack": 100 * ratio * (low.expanded or 0.0) / 2 / low.value,
        "settled": 100 * (high.expanded or 0.0) / 2 / low.value,
    }
    return figure(100 * (ratio - 1), "%", parts, high.window, low.cautions + high.cautions)
