"""The de-stroke onset: the pump is brought back because main pressure has reached the cut-off.

The model. While main pressure climbs, stroke follows the lever (it rises), stands at its working
level, or slides slowly with the sum of both mains (the torque limit): a parabola describes each.
When main reaches the cut-off, the cut-off valve drains the control line: from one instant on the
stroke runs down like a first-order element. The onset is where 5 % of the swing has been left
behind. Main pressure at that instant is that at the pump: the record's lag is undone. A turn of the
control pressure while main pressure already stands at its plateau is not the cut-off being reached,
and the return of the lever comes after the hold.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse import uncertainty
from gaugebench.analyse.budget import RECORD_LAG, TIME, of_instant
from gaugebench.analyse.control import Control
from gaugebench.analyse.fit import columns, least_squares
from gaugebench.analyse.hold import Hold
from gaugebench.analyse.lag import Lag
from gaugebench.analyse.rise import Rise
from gaugebench.analyse.samples import Samples, smoothed
from gaugebench.model.arrays import F64

LEFT_BEHIND = 0.05
SWING_SHARE = 0.25
"""The run must take at least this share of the stroke away to be told from a slide."""
NEAR_SHARE = 0.88
"""The cut-off lies near the pressure that is held in the end: a turn below this share of it is the
torque limit."""
STILL_RISING = 0.25
"""Main still rises where its slope is at least this share of the rise's greatest."""
SLOPE_S = 0.025
BREAK = 1.5
"""At the cut-off the stroke runs down this much faster than it slid just before."""
DECAYS_S = (0.004, 0.008, 0.014, 0.025, 0.045, 0.08)


@dataclass(frozen=True, slots=True)
class Onset:
    """time_s, time_sd: s. pressure: main pressure then, Pa, and its standard uncertainties by name.
    swing: how far the stroke runs down, Pa. samples_in_rise: sample intervals from 70 % of settled
    on."""

    time_s: float
    time_sd: float
    pressure: float
    pressure_parts: dict[str, float]
    swing: float
    samples_in_rise: float


@dataclass(frozen=True, slots=True)
class NoOnset:
    """Why there is no onset, in words, and whether the control pressure fell later."""

    reason: str
    fell_later: bool = False


def find_onset(
    control: Control, main: Samples, rise: Rise, hold: Hold, lag: Lag, *, cut_off: bool = False
) -> Onset | NoOnset:
    """The de-stroke onset of one pump. cut_off: it is known that the cut-off holds the pressure, so
    that a run without a break is a cut-off that a slow lever goes through, not the torque limit."""
    low, high = np.searchsorted(control.times, (rise.foot_s, rise.top_s + 0.35))
    stride = max(1, round(0.002 / control.interval_s))
    times, soft = control.times[low:high:stride], control.soft[low:high:stride]
    if len(times) < 8:
        return NoOnset("The control pressure has too few samples in the rise.")
    near_s = _last_below(main, rise, NEAR_SHARE * hold.level) - 2 * lag.seconds
    turn = _turn(times, soft, max(near_s, rise.foot_s), control.noise)
    if turn is None:
        return NoOnset("The control pressure does not run down: the pump stays loaded.")
    turn_s, swing = turn
    working = float(np.max(soft))
    if swing < SWING_SHARE * working or swing < 6 * control.noise:
        return NoOnset("The control pressure gives way by so little that the cut-off is not plain.")
    from_s = rise.foot_s if rise.from_load else -np.inf
    fit = _kink(control, turn_s, swing, working, from_s, 0.0 if cut_off else BREAK)
    if fit is None:
        return NoOnset(
            "The control pressure gives way as main pressure climbs, without a break: "
            "that is the torque limit."
        )
    at, sd = fit
    steep, now = _slopes(main, rise, at)
    if now < STILL_RISING * steep:
        return NoOnset(
            "The control pressure falls only after main pressure stands: "
            "it was not main reaching the cut-off that made it fall.",
            fell_later=True,
        )
    pressure, slope = _main_at(main, at)
    # What the record shows at an instant the pump's outlet had a lag earlier; a first-order lag
    # is undone by adding the slope times it.
    pressure += lag.seconds * slope
    # The control line may lag as little as not at all or as much as the main's, which was undone.
    astray = np.hypot(lag.sd, uncertainty.rectangular(lag.seconds))
    parts = {
        "fit": float(np.hypot(slope * sd, main.noise)),
        TIME: of_instant(slope, control.interval_s),
        RECORD_LAG: float(abs(slope) * astray),
    }
    inside = (at - _last_below(main, rise, 0.7 * hold.level)) / main.interval_s
    return Onset(at, sd, pressure, parts, swing, inside)


def _turn(times: F64, soft: F64, from_s: float, noise: float) -> tuple[float, float] | None:
    """Where the stroke falls most steeply after an instant, and how far it falls."""
    late = np.flatnonzero(times >= from_s)
    if len(late) < 4:
        return None
    # The greatest fall from any sample to the lowest one within the next 150 ms.
    reach = np.searchsorted(times, times + 0.15)
    places = np.arange(int(late[0]), len(times) - 2)
    ends = np.minimum(reach[places] + 1, len(times))
    padded = np.append(soft, np.inf)
    lowest = np.minimum.reduceat(padded, np.column_stack((places, ends)).ravel())[::2]
    falls = soft[places] - lowest
    at = int(places[np.argmax(falls)])
    best = float(np.max(falls))
    if best <= 4 * noise:
        return None
    stop = min(int(reach[at]), len(times) - 1)
    steps = np.diff(soft[at : stop + 1]) / np.diff(times[at : stop + 1])
    steepest = at + int(np.argmin(steps))
    return float(times[steepest]), best


def _kink(
    control: Control, turn_s: float, swing: float, working: float, from_s: float, least: float
) -> tuple[float, float] | None:
    """The instant at which 5 % of the run is left behind, and its standard deviation; None where
    the stroke does not run down `least` times faster than it slid before."""
    dt = control.interval_s
    start = max(turn_s - max(0.02, 6 * dt), min(from_s, turn_s - max(0.015, 5 * dt)))
    low, high = np.searchsorted(control.times, (start, turn_s + max(0.012, 4 * dt)))
    t, u = control.times[low:high], control.stroke[low:high]
    if len(t) < 7:
        return None
    first, last = turn_s - max(0.012, 2.5 * dt), turn_s + max(0.004, 1.2 * dt)
    grid = np.arange(first, last, min(dt / 4, 0.002))
    best: tuple[float, float, float, float, float] | None = None
    costs = []
    for kink in grid:
        x = t - kink
        if np.sum(x < 0) < 3 or np.sum(x > 0) < 2:
            continue
        before, after = np.minimum(x, 0.0), np.maximum(x, 0.0)
        for tau in DECAYS_S:
            basis = columns(np.ones_like(x), before, before * before, np.expm1(-after / tau))
            fit, rest = least_squares(basis, u)
            if fit[3] <= 0:
                continue
            cost = float(rest @ rest)
            costs.append((float(kink), cost))
            if best is None or cost < best[0]:
                best = cost, float(kink), tau, float(fit[3]), float(fit[0])
    if best is None:
        return None
    cost, kink, tau, amplitude, level = best
    reach = max(0.012, 3 * dt)
    there = np.interp((kink - reach, kink, kink + reach), control.times, control.soft)
    if there[1] - there[2] < least * (there[0] - there[1]):
        return None
    variance = max(cost / max(1, len(t) - 6), control.noise**2, 1.0)
    near = [k for k, c in costs if c <= cost + variance]
    sd = max((max(near) - min(near)) / 2, dt / 8)
    # A slide (the torque limit) may have left behind more than that before the run began.
    share = min(0.5, max(0.0, LEFT_BEHIND * swing - (working - level)) / amplitude)
    return kink - tau * float(np.log1p(-share)), sd


def _slopes(main: Samples, rise: Rise, at: float) -> tuple[float, float]:
    """The greatest slope of main in the rise up to the instant, and the slope just before it."""
    width = max(1, round(0.004 / main.interval_s))
    part = main.part(rise.foot_s, at + main.interval_s)
    if len(part) < 4:
        return 1.0, 1.0
    soft = smoothed(part.values, width)
    step = max(2, round(SLOPE_S / main.interval_s))
    step = min(step, len(soft) - 1)
    slope = (soft[step:] - soft[:-step]) / (part.times[step:] - part.times[:-step])
    return float(np.max(slope)), float(slope[-1])


def _main_at(main: Samples, at: float) -> tuple[float, float]:
    """Main pressure and its slope at an instant: a straight line through the samples next to it."""
    reach = max(0.003, 1.2 * main.interval_s)
    part = main.part(at - reach, at + reach)
    if len(part) < 2:
        return float(np.interp(at, main.times, main.values)), 0.0
    slope, pressure = np.polyfit(part.times - at, part.values, 1)
    return float(pressure), float(slope)


def _last_below(main: Samples, rise: Rise, level: float) -> float:
    """The last instant before the top of the rise at which main is below a level, s."""
    part = main.part(rise.foot_s - main.interval_s, rise.top_s + 0.05)
    below = np.flatnonzero(part.values < level)
    return float(part.times[below[-1]]) if len(below) else rise.foot_s
