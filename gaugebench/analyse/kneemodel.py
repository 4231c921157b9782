"""The shape of a rise that a relief bends: what a record shows of it.

Before the knee the pump's net flow q fills a volume of stiffness C (m³/Pa): p′ = q/C = s, nearly a
straight line, bent a little while the lever is still moving. From the knee on the relief passes
oil: a flow that, as a share of C, follows (p − crack)/τ with the valve's own opening lag T. How far
the pressure then stays below the straight line is that line through 1/(τT·σ² + τ·σ + 1), σ the
Laplace variable; the plateau is crack + τ·s whatever T is. The record shows all of it through a
first-order lag λ (hose, transducer, filter).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse.fit import columns
from gaugebench.model.arrays import F64

APART = 0.02
"""Poles nearer to each other than this share are moved apart: the partial fractions need it."""


@dataclass(frozen=True, slots=True)
class Shape:
    """knee_s: when the first oil passes, s. relief_s, opening_s, lag_s: τ, T and λ, s, above 0."""

    knee_s: float
    relief_s: float
    opening_s: float
    lag_s: float


def shown(times: F64, shape: Shape) -> F64:
    """Columns (n, 4) that multiply crack, slope s, curvature before the knee and drift of the slope
    after it, at times (n,) in s, as the record shows them."""
    tau, opening, lag = shape.relief_s, shape.opening_s, shape.lag_s
    if abs(tau - 4 * opening) < APART * tau:
        opening = (1 - APART) * tau / 4
    root = np.sqrt(complex(tau * tau - 4 * tau * opening))
    valve = np.array([-tau + root, -tau - root]) / (2 * tau * opening)
    if np.min(np.abs(lag * valve + 1)) < APART:
        lag *= 1 + 1.5 * APART
    p, q, r = (*valve, complex(-1 / lag))
    share = 1 / (tau * opening * lag)
    poles = np.array([p, q, r])
    residues = share / np.array([(p - q) * (p - r), (q - p) * (q - r), (r - p) * (r - q)])
    x = times - shape.knee_s
    after = x > 0
    a = x[after]
    fade = np.exp(np.outer(a, poles))
    slow = fade[:, 2].real
    # Of 1/(1 + d₁σ + d₂σ² + …) a ramp x leaves x − d₁, and x²/2 leaves x²/2 − d₁x + d₁² − d₂, each
    # and what fades with the poles.
    first = tau + lag
    second = first * first - tau * (opening + lag)
    ramp = a - first + (fade @ (residues / poles**2)).real
    bow = a * a / 2 - first * a + second + (fade @ (residues / poles**3)).real
    slope, curve, drift = x - lag, x * x / 2 - lag * x + lag * lag, np.zeros_like(x)
    slope[after] -= ramp
    curve[after] = lag * lag * slow
    drift[after] = a * a / 2 - lag * a + lag * lag * (1 - slow) - bow
    return columns(np.ones_like(x), slope, curve, drift)
