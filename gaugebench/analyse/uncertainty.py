"""Uncertainty after JCGM 100:2008 (GUM): standard uncertainties, combined, and times k = 2."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from gaugebench.analyse.student import coverage_factor
from gaugebench.model.arrays import F64

K = 2.0
"""The coverage factor of every expanded uncertainty that the program states."""


@dataclass(frozen=True, slots=True)
class Part:
    """One input to a combination.

    standard: its standard uncertainty (k = 1), in its own unit. sensitivity: change of the result
    for a change of one of the input. dof: degrees of freedom, infinite for a stated bound.
    """

    standard: float
    sensitivity: float = 1.0
    dof: float = math.inf

    @property
    def contribution(self) -> float:
        """Its signed share of the result's uncertainty: sensitivity times standard."""
        return self.sensitivity * self.standard


@dataclass(frozen=True, slots=True)
class Combined:
    """A combined standard uncertainty and its effective degrees of freedom."""

    standard: float
    dof: float
    parts: Mapping[str, float]
    """The contributions by name (k = 1, unsigned), in the unit of the result."""

    @property
    def expanded(self) -> float:
        """The half-width of the k = 2 interval."""
        return K * self.standard

    def at_level(self, level: float) -> float:
        """The half-width that holds the value with a level of confidence, from Student's t.

        The degrees of freedom are cut down to a whole number, as JCGM 100 G.4.1 has it.
        """
        whole = self.dof if math.isinf(self.dof) else max(1.0, math.floor(self.dof))
        return coverage_factor(level, whole) * self.standard


def combine(
    parts: Mapping[str, Part], correlations: Mapping[tuple[str, str], float] | None = None
) -> Combined:
    """The combined standard uncertainty, JCGM 100 equations (10) and (16).

    correlations: coefficients (−1 to 1) of pairs of inputs, each pair once, in either order; what
    is not named is uncorrelated. Degrees of freedom by Welch–Satterthwaite, equation (G.2b).
    Raises `ValueError` where a pair names an input that is not there, or a coefficient is not one.
    """
    shares = {name: part.contribution for name, part in parts.items()}
    square = sum(share**2 for share in shares.values())
    for (one, two), r in (correlations or {}).items():
        if one not in shares or two not in shares or not -1.0 <= r <= 1.0:
            raise ValueError(f"there is no correlation {r} between “{one}” and “{two}”")
        square += 2 * r * shares[one] * shares[two]
    standard = math.sqrt(max(0.0, square))
    scatter = sum(
        shares[name] ** 4 / part.dof for name, part in parts.items() if not math.isinf(part.dof)
    )
    return Combined(
        standard=standard,
        dof=standard**4 / scatter if scatter > 0 else math.inf,
        parts={name: abs(share) for name, share in shares.items()},
    )


def expanded(parts: Mapping[str, float]) -> float:
    """The k = 2 half-width of uncorrelated standard uncertainties given by name."""
    return K * math.sqrt(sum(value**2 for value in parts.values()))


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a value known to lie within ± half_width (JCGM 100 4.3.7)."""
    return half_width / math.sqrt(3)


def resolution(span: float) -> float:
    """Standard uncertainty of an indication rounded to steps of `span` (JCGM 100 F.2.2.1)."""
    return span / math.sqrt(12)


def triangular(half_width: float) -> float:
    """Standard uncertainty of a value within ± half_width, likeliest in the middle (4.3.9)."""
    return half_width / math.sqrt(6)


def type_b_dof(relative: float) -> float:
    """Degrees of freedom of a stated uncertainty that is itself sure to a relative share (G.3)."""
    return 0.5 / relative**2


def mean_and_uncertainty(values: F64) -> tuple[float, float, float]:
    """Mean, standard uncertainty of the mean and degrees of freedom of independent readings.

    JCGM 100 4.2. Raises `ValueError` for fewer than two readings. For samples of a running
    pressure, which are not independent, use `budget.held_mean`.
    """
    if len(values) < 2:
        raise ValueError("a mean with an uncertainty needs two readings or more")
    return (
        float(np.mean(values)),
        float(np.std(values, ddof=1)) / math.sqrt(len(values)),
        float(len(values) - 1),
    )


def mean_correlation(first: F64, second: F64) -> float:
    """The correlation of two means of readings taken together (JCGM 100 equations 14, 17)."""
    return float(np.corrcoef(first, second)[0, 1])


def of_difference(one: float, two: float, correlation: float = 0.0) -> float:
    """Standard uncertainty of a difference of two readings, for example of two transducers.

    correlation: 0 for transducers calibrated apart; above 0 where one reference served for both,
    since its error is then common to both and drops out of the difference.
    """
    return combine(
        {"one": Part(one), "two": Part(two, -1.0)}, {("one", "two"): correlation}
    ).standard


def normalised_error(one: float, two: float, expanded_one: float, expanded_two: float) -> float:
    """How far two results disagree, as a share of what their uncertainties allow (E_n).

    ISO/IEC 17043, from memory: at or below 1 they agree, above 1 they do not.
    """
    return abs(one - two) / math.hypot(expanded_one, expanded_two)
