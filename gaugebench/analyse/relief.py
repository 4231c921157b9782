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

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse.fit import columns, least_squares, weighted_spread
from gaugebench.analyse.hold import Hold
from gaugebench.analyse.lag import USUAL, Lag
from gaugebench.analyse.ripple import Ripple, ripple_of
from gaugebench.analyse.rise import Rise
from gaugebench.analyse.samples import Samples
from gaugebench.model.arrays import F64
from gaugebench.model.figures import Absent
from gaugebench.model.saying import Saying

RELIEF_S = 0.0033
"""Usual time constant of a relief with the volume before it, s."""
LOG_SD = 0.4
"""How far (log, 1 σ) it may stray from the usual one."""

SEEN_SHARE = 0.05
"""The stretch after the corner is as long as the rise takes for this share of the pressure."""
ENOUGH_SAMPLES = 5


@dataclass(frozen=True, slots=True)
class Knee:
    """crack_s (s), crack (Pa) and their standard deviations. slope: of the rise there, Pa/s.

    relief_s, lag_s: the time constants found. rest: rms of what the fit leaves, Pa. count: the
    samples used. bend: share of its slope that the rise loses at the knee (1: all of it).
    """

    crack_s: float
    crack: float
    crack_s_sd: float
    crack_sd: float
    slope: float
    relief_s: float
    lag_s: float
    rest: float
    count: int
    bend: float
    corner: float


def find_knee(main: Samples, rise: Rise, hold: Hold, lag: Lag) -> Knee | Absent:
    """The knee of a rise to a hold over the relief, or why there is none."""
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
    part = main.part(from_s, corner_s + max(slow, 6 * interval))
    held = main.part(hold.start_s, hold.end_s)
    if main.gaps(from_s, corner_s + interval):
        return Absent("Samples are missing at the knee.")
    knee = fit_knee(part.times, part.values, corner_s, ripple_of(held.times, held.values), lag)
    if knee is None:
        return Absent("The rise has too few samples to place the knee.")
    if (knee.crack_s - seventy) / interval < ENOUGH_SAMPLES:
        return Absent(
            Saying(
                "The rise is too fast for the sample rate to show a knee: fewer than {count} "
                "samples lie between 70 % of settled and it.",
                count=ENOUGH_SAMPLES + 1,
            )
        )
    if knee.bend < 0.5 or not rise.initial < knee.crack < 1.02 * hold.level:
        return Absent("The rise does not bend: no knee can be told from it.")
    return knee


def _reaches(main: Samples, rise: Rise, hold: Hold) -> float:
    """Where the pressure comes within a fiftieth of the hold's level after the rise's 90 %, s."""
    part = main.part(rise.top_s, rise.top_s + 1.0)
    near = np.flatnonzero(part.values >= rise.initial + 0.98 * (hold.level - rise.initial))
    return float(part.times[near[0]]) if len(near) else rise.top_s


def _last_below(main: Samples, rise: Rise, level: float) -> float:
    """The last instant before the top of the rise at which main is below a level, s."""
    part = main.part(rise.foot_s - main.interval_s, rise.top_s + main.interval_s)
    below = np.flatnonzero(part.values < level)
    return float(part.times[below[-1]]) if len(below) else rise.foot_s


def corner_of(times: F64, values: F64, first: int, last: int) -> int | None:
    """Index of the sample nearest to the corner of two curves, sought from `first` to `last`.

    A parabola before the corner and a straight line after it, joined there.
    """
    costs: dict[int, float] = {}

    def cost(index: int) -> float:
        if index not in costs:
            x = times - times[index]
            before, after = np.minimum(x, 0.0), np.maximum(x, 0.0)
            rest = least_squares(columns(np.ones_like(x), before, before * before, after), values)[
                1
            ]
            costs[index] = float(rest @ rest)
        return costs[index]

    if last < first:
        return None
    stride = max(1, (last - first) // 24)
    best = min(range(first, last + 1, stride), key=cost)
    while stride > 1:
        stride = max(1, stride // 4)
        near = range(max(first, best - 4 * stride), min(last, best + 4 * stride) + 1, stride)
        best = min(near, key=cost)
    return best


def fit_knee(
    times: F64, values: F64, corner_s: float, ripple: Ripple | None, lag: Lag = USUAL
) -> Knee | None:
    """The knee near `corner_s` in samples that reach from the rise to the plateau, or None.

    times (s), values (Pa): shape (n,). ripple: of the hold, whose line is fitted too, held to the
    amplitude that it has there.
    """
    if len(times) < 7:
        return None
    line_hz, noise = 0.0, 1e-4 * float(np.max(np.abs(values)))
    known, padded = np.empty((0, 4)), values
    if ripple is not None:
        line_hz = ripple.line_hz
        rest = ripple.rms**2 - (ripple.line**2 / 2 if line_hz else 0.0)
        noise = max(noise, float(np.sqrt(max(rest, 0.0))))
        if line_hz:
            # How large the ripple is, is known from the hold; its phase is not.
            known = np.zeros((2, 6))
            known[0, 4] = known[1, 5] = noise / ripple.line
            padded = np.concatenate((values, (0.0, 0.0)))
    interval = float(np.median(np.diff(times)))
    theta = np.array([corner_s - RELIEF_S - lag.seconds, 0.0, 0.0])
    log_sd = np.array([LOG_SD, max(0.15, lag.sd / lag.seconds)])
    scale = np.array([0.2 * interval + 2e-4, 0.05, 0.05])

    def residual(at: F64) -> F64:
        basis = _basis(times, at, lag.seconds, line_hz)
        rest = least_squares(np.vstack((basis, known)), padded)[1] / noise
        return np.concatenate((rest, at[1:] / log_sd))

    now = residual(theta)
    cost, damping = float(now @ now), 1e-2
    for _ in range(16):
        jac = np.column_stack(
            [(residual(theta + np.eye(3)[k] * scale[k]) - now) / scale[k] for k in range(3)]
        )
        square = jac.T @ jac
        damped = square + damping * np.diag(np.diag(square) + 1e-12)
        step = -np.linalg.solve(damped, jac.T @ now)
        reach = np.array([2 * interval, 0.7, 0.7])
        step = np.clip(step, -reach, reach)
        trial = theta + step
        then = residual(trial)
        if (new := float(then @ then)) < cost:
            done = cost - new < 1e-3 * cost
            theta, now, cost, damping = trial, then, new, damping / 4
            if done:
                break
        else:
            damping *= 6
            if damping > 1e4:
                break
    basis = _basis(times, theta, lag.seconds, line_hz)
    fit, left = least_squares(np.vstack((basis, known)), padded)
    left = left[: len(times)]
    free = max(1, len(times) - basis.shape[1] - 1)
    sd = max(noise, float(np.sqrt(left @ left / free)))
    full = np.column_stack(
        [
            *basis.T,
            *((_basis(times, theta + np.eye(3)[k] * scale[k], lag.seconds, 0.0)[:, :4]
               - basis[:, :4]) @ fit[:4] / scale[k] for k in range(3)),
        ]
    ) / sd  # fmt: skip
    prior = np.zeros((2 + len(known), full.shape[1]))
    prior[0, -2], prior[1, -1] = 1 / log_sd
    prior[2:, : known.shape[1]] = known / noise
    spread = weighted_spread(np.vstack((full, prior)))
    crack, slope, _, drift = (float(v) for v in fit[:4])
    tau = RELIEF_S * float(np.exp(theta[1]))
    return Knee(
        crack_s=float(theta[0]),
        crack=crack,
        crack_s_sd=float(spread[-3]),
        crack_sd=float(spread[0]),
        slope=slope,
        relief_s=tau,
        lag_s=lag.seconds * float(np.exp(theta[2])),
        rest=float(np.sqrt(np.mean(left * left))),
        count=len(times),
        bend=1 - tau * drift / slope if slope > 0 else 0.0,
        corner=crack + tau * slope,
    )


def _basis(times: F64, theta: F64, usual_lag_s: float, line_hz: float) -> F64:
    """Columns that multiply crack, slope s, curvature and drift, as the transducer shows them."""
    knee, tau, lag = float(theta[0]), RELIEF_S * np.exp(theta[1]), usual_lag_s * np.exp(theta[2])
    if abs(tau - lag) < 0.02 * tau:
        lag = 0.98 * tau  # the closed form has a removable singularity where they are equal
    x = times - knee
    after = x > 0
    b, a = np.where(after, 0.0, x), np.where(after, x, 0.0)
    fade, slow = np.exp(-a / tau), np.exp(-a / lag)
    # What goes in: before, s·x and x²/2; after, τ(1 − e^(−x/τ)) and τ(x − τ(1 − e^(−x/τ))).
    # What comes out of a lag λ: of 1: 1; of x: x − λ; of x²/2: x²/2 − λx + λ²;
    # of e^(−x/τ): τ/(τ − λ)·e^(−x/τ); and a part that fades with λ, so that the curve is joined.
    k = tau / (tau - lag)
    slope_after = tau * (1 - k * fade)
    slope_after = slope_after + (-lag - tau * (1 - k)) * slow
    curve_after = lag * lag * slow
    drift_after = tau * ((a - lag) - tau * (1 - k * fade))
    drift_after = drift_after - tau * (-lag - tau * (1 - k)) * slow
    shown = [
        np.ones_like(x),
        np.where(after, slope_after, b - lag),
        np.where(after, curve_after, b * b / 2 - lag * b + lag * lag),
        np.where(after, drift_after, 0.0),
    ]
    if line_hz > 0:
        angle = 2 * np.pi * line_hz * x
        shown += [np.cos(angle), np.sin(angle)]
    return columns(*shown)
