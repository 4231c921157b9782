"""The shape of a rise that a relief bends: what a record shows of it.

Before the knee the pump's net flow q fills a volume of stiffness C (m³/Pa): p′ = q/C = s, nearly a
straight line, bent a little while the lever is still moving. From the knee on the relief passes
oil: a flow that, as a share of C, follows (p − crack)/τ with the valve's own opening lag T. How far
the pressure then stays below the straight line is that line through 1/(τT·σ² + τ·σ + 1), σ the
Laplace variable; the plateau is crack + τ·s whatever T is. The record shows all of it through a
first-order lag λ (hose, transducer, filter).
"""

from __future__ import annotations

import numpy as np

from gaugebench.model.arrays import F64

APART = 0.02
"""Poles nearer to each other than this share are moved apart: the partial fractions need it."""


def shown(times: F64, shapes: F64) -> F64:
    """Columns (m, n, 4) that multiply crack, slope s, curvature before the knee and drift of the
    slope after it, at times (n,) in s, as the record shows them.

    shapes: (m, 4) in s: when the first oil passes, τ, T and λ, the last three above 0. Several at
    once, since a fit asks for them so and each alone costs nearly as much as all.
    """
    knee, tau, opening, lag = np.asarray(shapes, np.float64).T.copy()
    double = np.abs(tau - 4 * opening) < APART * tau
    opening[double] = (1 - APART) * tau[double] / 4
    root = np.sqrt((tau * tau - 4 * tau * opening).astype(complex))
    valve = np.array([-tau + root, -tau - root]) / (2 * tau * opening)
    lag[np.min(np.abs(lag * valve + 1), axis=0) < APART] *= 1 + 1.5 * APART
    p, q, r = poles = np.array([*valve, -1 / lag + 0j])
    residues = np.array([(p - q) * (p - r), (q - p) * (q - r), (r - p) * (r - q)])
    residues = 1 / (tau * opening * lag * residues)
    x = times - knee[:, np.newaxis]
    after, a = x > 0, np.maximum(x, 0.0)
    fade = np.exp(poles.T[:, np.newaxis, :] * a[:, :, np.newaxis])
    kept = np.stack((residues / poles**2, residues / poles**3)).T.swapaxes(1, 2)  # (m, 2, 3)
    faded = (fade @ kept.swapaxes(1, 2)).real
    slow = fade[:, :, 2].real
    tau, opening, lag = tau[:, np.newaxis], opening[:, np.newaxis], lag[:, np.newaxis]
    # Of 1/(1 + d₁σ + d₂σ² + …) a ramp x leaves x − d₁, and x²/2 leaves x²/2 − d₁x + d₁² − d₂, each
    # and what fades with the poles.
    first = tau + lag
    second = first * first - tau * (opening + lag)
    ramp = a - first + faded[:, :, 0]
    half = a * a / 2
    bow = half - first * a + second + faded[:, :, 1]
    made = np.empty((*x.shape, 4))
    made[:, :, 0] = 1.0
    made[:, :, 1] = x - lag - np.where(after, ramp, 0.0)
    made[:, :, 2] = np.where(after, lag * lag * slow, x * x / 2 - lag * x + lag * lag)
    made[:, :, 3] = np.where(after, half - lag * a + lag * lag * (1 - slow) - bow, 0.0)
    return made
