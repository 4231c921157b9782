"""What a rule costs over many machines: the global risks of JCGM 106:2012, clause 9."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from statistics import NormalDist

import numpy as np

from gaugebench.analyse.verdict import Band

_NORMAL = NormalDist()
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)
_PANELS = 40


@dataclass(frozen=True, slots=True)
class Risks:
    """Probabilities, 0 to 1.

    consumer: a value outside its band is passed (R_C). producer: one inside it is failed (R_P).
    outside: a value lies outside its band, before anything is measured.
    """

    consumer: float
    producer: float
    outside: float


def global_risks(
    prior: Callable[[float], float],
    support: tuple[float, float],
    standard: float,
    band: Band,
    acceptance: Band,
) -> Risks:
    """The risks of accepting what is measured within the acceptance limits.

    prior: probability density of the true value, negligible outside `support`. standard: the
    measurement's standard uncertainty (k = 1), above 0. JCGM 106 equations (17) and (19), by
    Gauss–Legendre quadrature in panels that end at the band's limits.
    """
    if standard <= 0.0 or not support[0] < support[1]:
        raise ValueError("risks need an uncertainty above zero and a support from low to high")
    knots = [support[0], *(x for x in (band.low, band.high) if x is not None), support[1]]
    knots = sorted(min(max(knot, support[0]), support[1]) for knot in knots)
    consumer = producer = outside = 0.0
    for start, end in pairwise(knots):
        edges = np.linspace(start, end, _PANELS + 1)
        half = (edges[1:] - edges[:-1]) / 2
        places = (edges[:-1] + half)[:, None] + half[:, None] * _NODES
        middle = (start + end) / 2
        is_inside = (band.low is None or middle >= band.low) and (
            band.high is None or middle <= band.high
        )
        for place, weight in zip(places.ravel(), np.outer(half, _WEIGHTS).ravel(), strict=True):
            share = prior(float(place)) * float(weight)
            accepted = _accepted(float(place), standard, acceptance)
            if is_inside:
                producer += share * (1.0 - accepted)
            else:
                consumer += share * accepted
                outside += share
    return Risks(consumer, producer, outside)


def normal_prior(
    mean: float, standard: float
) -> tuple[Callable[[float], float], tuple[float, float]]:
    """A normal prior and the support that holds all but 1e-15 of it."""
    return NormalDist(mean, standard).pdf, (mean - 8 * standard, mean + 8 * standard)


def _accepted(true: float, standard: float, acceptance: Band) -> float:
    upper = 1.0 if acceptance.high is None else _NORMAL.cdf((acceptance.high - true) / standard)
    lower = 0.0 if acceptance.low is None else _NORMAL.cdf((acceptance.low - true) / standard)
    return upper - lower
