"""Student's t distribution, for the coverage factors of JCGM 100 Annex G."""

from __future__ import annotations

import math
from functools import cache
from statistics import NormalDist

import numpy as np

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(200)


@cache
def t_quantile(probability: float, dof: float) -> float:
    """The t that a variable with `dof` degrees of freedom stays below with this probability.

    probability: in (0, 1). dof: 1 or more, not necessarily whole; infinity gives the normal one.
    """
    if not 0.0 < probability < 1.0 or dof < 1.0:
        raise ValueError("a quantile needs 0 < probability < 1 and at least one degree of freedom")
    if dof > 1e6:
        return NormalDist().inv_cdf(probability)
    if probability < 0.5:
        return -t_quantile(1.0 - probability, dof)
    # With t = √dof · tan θ the density becomes C · cos(θ)^(dof − 1), smooth on 0 ≤ θ < π/2.
    scale = math.exp(math.lgamma((dof + 1) / 2) - math.lgamma(dof / 2)) / math.sqrt(math.pi)
    low, high = 0.0, math.pi / 2
    for _ in range(60):
        middle = (low + high) / 2
        half = middle / 2
        area = half * float(np.sum(_WEIGHTS * np.cos(half * (_NODES + 1)) ** (dof - 1)))
        if 0.5 + scale * area < probability:
            low = middle
        else:
            high = middle
    return math.sqrt(dof) * math.tan((low + high) / 2)


def coverage_factor(level: float, dof: float = math.inf) -> float:
    """The k for which ± k·u holds the value with this level of confidence (JCGM 100 G.3)."""
    return t_quantile((1.0 + level) / 2, dof)
