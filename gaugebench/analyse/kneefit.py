"""The fit of a knee to samples, and how sure it leaves the crack.

Linear in crack, slope, curvature, drift of the flow and a sinusoid of the pump's ripple; the
instant and the three time constants are found by Gauss-Newton steps. What the samples do not show
of the time constants stays near what valves and transducers have in practice, with a wide spread:
the corner of a record is rounded by the valve and by the record's own lag alike, and only the
valve's part lies between crack and corner.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, pi, sqrt

import numpy as np

from gaugebench.analyse.fit import least_squares_each, weighted_spread
from gaugebench.analyse.kneemodel import shown
from gaugebench.analyse.lag import USUAL, Lag
from gaugebench.analyse.ripple import Ripple
from gaugebench.model.arrays import F64

RELIEF_S, RELIEF_SD = 0.005, 0.8
"""Usual time constant of a relief with the volume before it, s, and how far (log, 1 σ) it strays:
an override of 1 to 8 % on a rise of some hundred to some thousand bar a second makes 1 to 25 ms of
it (common practice, no source)."""
OPENING_S, OPENING_SD = 0.0005, 0.8
"""Usual lag of the valve's own opening, s, and how far (log, 1 σ) it strays."""
OVERRIDE, OVERRIDE_SD = 0.02, 0.7
"""Beyond this share of the crack an override grows unlikely, by this much (log, 1 σ)."""
STEPS = 20
GOES_ON = 50.0
"""How fast the pump's flow may change at the knee, of its own size a second (1 σ): a cut-off takes
all of it away in some hundredths of a second."""
LATE_S = 0.004
"""The opening lag of a slow valve, s: what it would do to the crack is said beside the fit."""
WANDER_HZ, SLOW_WANDER_HZ = 1.0, 6.0
"""How far the ripple's line wanders between the rise and the hold, as the engine droops; where
samples lie further apart than SLOW_S the line is an echo, and its phase is lost sooner."""
SLOW_S = 0.0035


@dataclass(frozen=True, slots=True)
class Knee:
    """crack_s (s), crack (Pa) and their standard deviations. slope: of the rise there, Pa/s.

    relief_s, opening_s, lag_s: the time constants found. rest: rms of what the fit leaves, Pa.
    count: the samples used. bend: share of its slope that the rise loses at the knee (1: all of
    it). corner: crack + relief_s × slope, Pa. late, late_s: crack and instant if the valve opened
    slowly. speed: the slope at the knee as a share of the greatest in the rise.
    """

    crack_s: float
    crack: float
    crack_s_sd: float
    crack_sd: float
    slope: float
    relief_s: float
    opening_s: float
    lag_s: float
    rest: float
    count: int
    bend: float
    corner: float
    late: float
    late_s: float
    speed: float = 1.0


class _Fit:
    """One set of samples. A point is (knee, log τ, log T, log λ)."""

    def __init__(
        self, times: F64, values: F64, corner_s: float, ripple: Ripple | None, lag: Lag
    ) -> None:
        self.times, self.lag = times, lag
        self.interval = float(np.median(np.diff(times)))
        self.scale = np.array([0.2 * self.interval + 2e-4, 0.05, 0.05, 0.05])
        self.noise = 1e-4 * float(np.max(np.abs(values)))
        self.line_hz = 0.0 if ripple is None else ripple.line_hz
        if ripple is not None:
            rest = ripple.rms**2
            if self.line_hz:
                # How large the ripple is, is known from the hold; its phase is not, nor, over a
                # long stretch, its frequency.
                wander = WANDER_HZ if self.interval < SLOW_S else SLOW_WANDER_HZ
                astray = min(1.0, (pi * wander * float(times[-1] - times[0])) ** 2 / 3)
                rest -= (1 - astray) * ripple.line**2 / 2
            self.noise = max(self.noise, sqrt(max(rest, 0.0)))
        self.known = np.zeros((3 if self.line_hz else 1, 6 if self.line_hz else 4))
        # The pump's flow goes on as it came: the drift after the knee is the curvature before it.
        climb = max(float(np.max(values) - values[0]), self.noise) / max(
            corner_s - float(times[0]), self.interval
        )
        self.known[0, 2] = -self.noise / (GOES_ON * climb)
        self.known[0, 3] = -self.known[0, 2]
        if self.line_hz and ripple is not None:
            self.known[1, 4] = self.known[2, 5] = self.noise / ripple.line
        self.padded = np.concatenate((values, np.zeros(len(self.known))))

    def basis(self, points: F64) -> F64:
        """Columns (m, n + k, c) of points (m, 4); the last k rows are what is known of them."""
        shapes = points.copy()
        shapes[:, 1:] = np.exp(points[:, 1:]) * (1.0, 1.0, self.lag.seconds)
        rows, wide = len(self.times), self.known.shape[1]
        made = np.empty((len(points), rows + len(self.known), wide))
        made[:, rows:] = self.known
        made[:, :rows, :4] = shown(self.times, shapes)
        if self.line_hz:
            angle = 2 * pi * self.line_hz * (self.times - points[:, :1])
            made[:, :rows, 4], made[:, :rows, 5] = np.cos(angle), np.sin(angle)
        return made

    def linear(self, points: F64) -> tuple[F64, F64, F64]:
        """Basis, coefficients (m, c), and what is left over (m, n + k)."""
        basis = self.basis(points)
        fit, rest = least_squares_each(basis, self.padded)
        return basis, fit, rest

    def residual(self, points: F64) -> F64:
        _, fit, rest = self.linear(points)
        return np.concatenate((rest / self.noise, self.usual(points, fit)), axis=1)

    def usual(self, points: F64, fit: F64) -> F64:
        """How far from what is usual, in standard deviations."""
        _, relief, opening, lag = points.T
        over = np.exp(relief) * np.maximum(fit[:, 1], 1.0) / np.maximum(fit[:, 0], 1.0)
        return np.column_stack(
            (
                np.maximum(0.0, np.log(np.maximum(over, 1e-9) / OVERRIDE)) / OVERRIDE_SD,
                (relief - log(RELIEF_S)) / RELIEF_SD,
                (opening - log(OPENING_S)) / OPENING_SD,
                lag / self.lag_sd,
            )
        )

    @property
    def lag_sd(self) -> float:
        return max(0.15, self.lag.sd / self.lag.seconds)

    def solve(self, at: F64, free: tuple[int, ...], steps: int) -> F64:
        """Gauss-Newton steps, damped, in the `free` parts of the point."""
        units = np.vstack((np.zeros(4), np.diag(self.scale)[list(free)]))
        sizes = units[1:].sum(axis=1)
        # A point and those beside it are asked for at once: that costs hardly more than one.
        now, *beside = self.residual(at + units)
        cost, damping = float(now @ now), 1e-2
        near = 2 * self.interval
        for _ in range(steps):
            jac = (np.array(beside) - now).T / sizes
            square = jac.T @ jac
            damped = square + damping * np.diag(np.diag(square) + 1e-12)
            reach = np.array([max(near, 0.3 * exp(at[1])), 0.7, 0.7, 0.7])[list(free)]
            step = np.clip(-np.linalg.solve(damped, jac.T @ now), -reach, reach)
            trial = at.copy()
            trial[list(free)] += step
            then, *then_beside = self.residual(trial + units)
            if (new := float(then @ then)) < cost:
                done = cost - new < 1e-3 * cost
                at, now, beside, cost, damping = trial, then, then_beside, new, damping / 4
                if done:
                    break
            else:
                damping *= 6
                if damping > 1e4:
                    break
        return at

    def cost(self, at: F64) -> float:
        (rest,) = self.residual(at[np.newaxis])
        return float(rest @ rest)

    def spread(self, at: F64, basis: F64, fit: F64, sd: float) -> F64:
        """Standard deviations of the linear parts, then of the point."""
        rows = len(self.times)
        moved = self.basis(at + np.diag(self.scale)) - basis
        moved = moved[:, :rows, :4] @ fit[:4] / self.scale[:, np.newaxis]
        full = np.column_stack((basis[:rows], moved.T)) / sd
        prior = np.zeros((4 + len(self.known), full.shape[1]))
        prior[0, -3], prior[1, -2], prior[2, -1] = 1 / RELIEF_SD, 1 / OPENING_SD, 1 / self.lag_sd
        crack, slope = max(float(fit[0]), 1.0), max(float(fit[1]), 1.0)
        if exp(at[1]) * slope / crack > OVERRIDE:
            prior[3, -3], prior[3, 1] = 1 / OVERRIDE_SD, 1 / OVERRIDE_SD / slope
            prior[3, 0] = -1 / OVERRIDE_SD / crack
        prior[4:, : self.known.shape[1]] = self.known / self.noise
        return weighted_spread(np.vstack((full, prior)))


def fit_knee(
    times: F64,
    values: F64,
    corners_s: tuple[float, ...],
    ripple: Ripple | None,
    lag: Lag = USUAL,
    relief_s: float = RELIEF_S,
) -> Knee | None:
    """The knee in samples that reach from the rise to the plateau, or None.

    times (s), values (Pa): shape (n,). corners_s: where the bend may lie; the search begins at each
    with the time constant relief_s (s), and the best is taken. ripple: of the hold, whose line is
    fitted too, held to the amplitude that it has there.
    """
    if len(times) < 7:
        return None
    work = _Fit(times, values, max(corners_s), ripple, lag)
    ends = [
        work.solve(
            np.array([at_s - relief_s - lag.seconds, log(relief_s), log(OPENING_S), 0.0]),
            (0, 1, 2, 3),
            STEPS,
        )
        for at_s in corners_s
    ]
    at = min(ends, key=work.cost)
    basis, fit, left = (part[0] for part in work.linear(at[np.newaxis]))
    left = left[: len(times)]
    sd = max(work.noise, sqrt(left @ left / max(1, len(times) - basis.shape[1] - 1)))
    spread = work.spread(at, basis, fit, sd)
    slowly = at.copy()
    slowly[2] = log(max(LATE_S, exp(at[2])))
    slowly = work.solve(slowly, (0, 1, 3), 8)
    late = float(work.linear(slowly[np.newaxis])[1][0, 0])
    crack, slope, _, drift = (float(v) for v in fit[:4])
    tau = exp(at[1])
    return Knee(
        crack_s=float(at[0]),
        crack=crack,
        crack_s_sd=float(spread[-4]),
        crack_sd=float(spread[0]),
        slope=slope,
        relief_s=tau,
        opening_s=exp(at[2]),
        lag_s=lag.seconds * exp(at[3]),
        rest=float(np.sqrt(np.mean(left * left))),
        count=len(times),
        bend=1 - tau * drift / slope if slope > 0 else 0.0,
        corner=crack + tau * slope,
        late=late,
        late_s=float(slowly[0]),
    )
