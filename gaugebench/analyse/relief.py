"""The relief crack: the knee at which the relief valve begins to pass oil.

The model. Before the knee the pump's net flow q fills a volume of stiffness C (m³/Pa): p′ = q/C =
s, nearly a straight line, bent a little while the lever is still moving. From the instant `crack_s`
on the relief passes (p − crack)/R: p′ = s − (p − crack)/τ with τ = R·C, so that the pressure bends,
at first with the same slope, towards crack + τ·s and then follows the flow. The transducer sees
that through a first-order lag. The plateau is therefore higher than the crack, and the corner of
two straight lines is too: the fit tells the two apart.

Linear in crack, slope, curvature, drift of the flow and a sinusoid of the pump's ripple; the
instant and the two time constants are found by Gauss-Newton steps. Where the rate is too low to
show the time constants they stay near what valves and transducers have in practice (a few ms;
common practice, no source), and the uncertainty says so.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaugebench.analyse.fit import least_squares_each
from gaugebench.analyse.hold import Hold
from gaugebench.analyse.kneefit import Knee, fit_knee
from gaugebench.analyse.lag import Lag
from gaugebench.analyse.ripple import Ripple
from gaugebench.analyse.rise import Rise
from gaugebench.analyse.samples import Samples
from gaugebench.model.arrays import F64
from gaugebench.model.figures import Absent
from gaugebench.model.saying import Saying

SEEN_SHARE = 0.05
"""The stretch after the corner is as long as the rise takes for this share of the pressure."""
ENOUGH_SAMPLES = 5
BELOW_SHARE = 0.04
"""The plateau that follows the knee lies no further below the hold's level than this share."""
WIDEST_S = 1.0
"""The longest rise in which a gradual knee is sought, s."""
GRADUAL_S = 0.04
"""Where the search for the time constant of a gradual one begins, s."""


def find_knee(
    main: Samples, rise: Rise, hold: Hold, lag: Lag, ripple: Ripple | None
) -> Knee | Absent:
    """The knee of a rise to a hold over the relief, whose ripple is known, or why there is none."""
    step = hold.level - rise.initial
    interval = main.interval_s
    seventy = _last_below(main, rise, 0.7 * hold.level)
    until = max(rise.top_s + 0.06, _reaches(main, rise, hold) + 0.03) + 6 * interval
    look = main.part(seventy - 2 * interval, until)
    if len(look) < 9:
        return Absent("The rise has too few samples.")
    corner = corner_of(look.times, look.values, 3, len(look) - 4)
    if corner is None:
        return Absent("The rise has no corner.")
    corner_s = float(look.times[corner])
    low = _last_below(main, rise, rise.initial + 0.3 * step)
    # A slow rise is looked at for longer, so that ripple weighs no more than in a fast one.
    climb = 0.2 * hold.level / max(rise.top_s - seventy, interval)
    slow = float(np.clip(SEEN_SHARE * hold.level / climb, 0.015, 0.05))
    from_s = max(low + interval / 2, corner_s - max(1.67 * slow, 9 * interval))
    to_s = corner_s + max(slow, 6 * interval)
    if main.gaps(from_s, corner_s + interval):
        return Absent("Samples are missing at the knee.")
    part = main.part(from_s, to_s)
    knee = fit_knee(part.times, part.values, (corner_s,), ripple, lag)
    if knee is not None and _reaches(main, rise, hold) > to_s:
        wide = _gradual(main, rise, hold, low, ripple, lag)
        if wide is not None and _is_wide(wide, knee, to_s):
            knee = wide
    if knee is None:
        return Absent("The rise has too few samples to place the knee.")
    if hold.other is None and knee.corner < (1 - BELOW_SHARE) * hold.level:
        return Absent(
            "The pressure goes on rising after the bend, so that the knee is not to be told from "
            "the way in which the flow came up."
        )
    if (knee.crack_s - seventy) / interval < ENOUGH_SAMPLES:
        return Absent(
            Saying(
                "The rise is too fast for the sample rate to show a knee: fewer than {count} "
                "samples lie between 70 % of settled and it.",
                count=ENOUGH_SAMPLES + 1,
            )
        )
    knee = replace(knee, speed=knee.slope / max(_steepest(main, rise, hold), 1.0))
    if knee.bend < 0.5 or not rise.initial < knee.crack < 1.02 * hold.level:
        return Absent("The rise does not bend: no knee can be told from it.")
    return knee


def _is_wide(wide: Knee, near: Knee, to_s: float) -> bool:
    """Whether the knee of the whole rise is to be believed before that of the stretch to `to_s`."""
    slow = to_s - wide.crack_s < 4 * wide.relief_s
    return slow and wide.bend > 0.5 and wide.crack_s < near.crack_s


def _gradual(
    main: Samples, rise: Rise, hold: Hold, low_s: float, ripple: Ripple | None, lag: Lag
) -> Knee | None:
    """The knee of a valve that gives way slowly: no corner shows, so the whole rise is fitted."""
    end_s = min(_reaches(main, rise, hold) + 0.1, hold.end_s, low_s + WIDEST_S)
    if main.gaps(low_s, end_s):
        return None
    part = main.part(low_s + main.interval_s / 2, end_s)
    starts = tuple(low_s + share * (end_s - low_s) for share in (0.2, 0.4, 0.6))
    return fit_knee(part.times, part.values, starts, ripple, lag, GRADUAL_S)


def _reaches(main: Samples, rise: Rise, hold: Hold) -> float:
    """Where the pressure comes within a fiftieth of the hold's level after the rise's 90 %, s."""
    part = main.part(rise.top_s, rise.top_s + 1.0)
    near = np.flatnonzero(part.values >= rise.initial + 0.98 * (hold.level - rise.initial))
    return float(part.times[near[0]]) if len(near) else rise.top_s


def _steepest(main: Samples, rise: Rise, hold: Hold) -> float:
    """The greatest slope of the rise, from one tenth of its height to the next, Pa/s."""
    step = hold.level - rise.initial
    part = main.part(rise.t50_s - 1.0, rise.top_s + main.interval_s)
    reached = np.maximum.accumulate(part.values)
    at = np.searchsorted(reached, rise.initial + step * np.linspace(0.3, 0.9, 7))
    times = part.times[np.minimum(at, len(part) - 1)]
    taken = np.diff(times)
    return float(0.1 * step / max(float(np.min(taken)), main.interval_s))


def _last_below(main: Samples, rise: Rise, level: float) -> float:
    """The last instant before the top of the rise at which main is below a level, s."""
    part = main.part(rise.foot_s - main.interval_s, rise.top_s + main.interval_s)
    below = np.flatnonzero(part.values < level)
    return float(part.times[below[-1]]) if len(below) else rise.foot_s


def corner_of(times: F64, values: F64, first: int, last: int) -> int | None:
    """Index of the sample nearest to the corner of two curves, sought from `first` to `last`.

    A parabola before the corner and a straight line after it, joined there.
    """

    def best_of(places: range) -> int:
        x = times - times[list(places), np.newaxis]
        basis = np.empty((*x.shape, 4))
        basis[:, :, 0] = 1.0
        basis[:, :, 1] = np.minimum(x, 0.0)
        basis[:, :, 2] = basis[:, :, 1] ** 2
        basis[:, :, 3] = np.maximum(x, 0.0)
        rest = least_squares_each(basis, values)[1]
        return places[int(np.argmin(np.einsum("ij,ij->i", rest, rest)))]

    if last < first:
        return None
    stride = max(1, (last - first) // 24)
    best = best_of(range(first, last + 1, stride))
    while stride > 1:
        stride = max(1, stride // 4)
        near = range(max(first, best - 4 * stride), min(last, best + 4 * stride) + 1, stride)
        best = best_of(near)
    return best
