"""Straight lines and parabolas through calibration points, with what is known of their error.

x, y: shape (n,), any units, finite. A fit is y = c0 + c1 x (+ c2 x²).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from gaugebench.analyse.student import coverage_factor
from gaugebench.model.arrays import F64


class Method(StrEnum):
    """How a line is laid through the points."""

    TERMINAL = "terminal"
    """Through the first and the last point."""
    LEAST_SQUARES = "least squares"
    MINIMUM_MAXIMUM = "minimum–maximum"
    """So that the largest deviation is the smallest possible (Chebyshev)."""


@dataclass(frozen=True, slots=True)
class Fit:
    """A fitted curve.

    coefficients: c0, c1 (, c2). covariance: of the coefficients, from the scatter about the curve;
    zero for a fit that is not of least squares. residuals: y − curve at each point. dof: degrees of
    freedom of the scatter.
    """

    method: Method
    coefficients: F64
    covariance: F64
    residuals: F64
    dof: int

    def at(self, x: float) -> float:
        """The curve's value at x."""
        return float(np.polynomial.polynomial.polyval(x, self.coefficients))

    def standard_at(self, x: float) -> float:
        """The standard uncertainty of the curve itself at x, from the scatter."""
        powers = x ** np.arange(len(self.coefficients))
        return math.sqrt(max(0.0, float(powers @ self.covariance @ powers)))

    def prediction(self, x: float, level: float = 0.95) -> float:
        """The half-width that holds one further point at x with this level of confidence."""
        return coverage_factor(level, self.dof) * math.hypot(self.scatter, self.standard_at(x))

    @property
    def scatter(self) -> float:
        """The residual standard deviation; 0 where there are no degrees of freedom."""
        return math.sqrt(float(self.residuals @ self.residuals) / self.dof) if self.dof else 0.0

    @property
    def standards(self) -> F64:
        """The standard uncertainties of the coefficients."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def largest(self) -> float:
        """The largest deviation of a point from the curve, unsigned."""
        return float(np.max(np.abs(self.residuals)))


def least_squares(x: F64, y: F64, degree: int = 1) -> Fit:
    """The curve of least squares. Raises `ValueError` for too few different x."""
    _check(x, y, degree + 1)
    scale = float(np.max(np.abs(x)))
    design = (x / scale)[:, None] ** np.arange(degree + 1)
    q, r = np.linalg.qr(design)
    back = scale ** -np.arange(degree + 1.0)
    coefficients = np.linalg.solve(r, q.T @ y) * back
    residuals = y - np.polynomial.polynomial.polyval(x, coefficients)
    dof = len(x) - degree - 1
    inverse = np.linalg.inv(r)
    variance = float(residuals @ residuals) / dof if dof else 0.0
    covariance = variance * (inverse @ inverse.T) * np.outer(back, back)
    return Fit(Method.LEAST_SQUARES, coefficients, covariance, residuals, dof)


def terminal(x: F64, y: F64, degree: int = 1) -> Fit:
    """The curve through the points of smallest and largest x.

    degree 2: with the middle deviation made as small as the ends allow, the largest deviation being
    the smallest possible. Raises `ValueError` for too few different x.
    """
    _check(x, y, degree + 1)
    first, last = int(np.argmin(x)), int(np.argmax(x))
    slope = float(y[last] - y[first]) / float(x[last] - x[first])
    coefficients = np.array([float(y[first]) - slope * float(x[first]), slope])
    if degree == 2:
        bow = (x - x[first]) * (x - x[last])
        rest = y - np.polynomial.polynomial.polyval(x, coefficients)
        bend = _least_largest(bow, rest)
        further = bend * np.array([float(x[first] * x[last]), -float(x[first] + x[last]), 1.0])
        coefficients = np.append(coefficients, 0.0) + further
    elif degree != 1:
        raise ValueError("a terminal curve is a line or a parabola")
    return _without_scatter(Method.TERMINAL, x, y, coefficients)


def minimum_maximum(x: F64, y: F64, degree: int = 1) -> Fit:
    """The curve whose largest deviation is the smallest possible, by exchange of points.

    x: all different. The deviation is equal and of alternating sign at degree + 2 points
    (Chebyshev; E. Remez's exchange, from memory). Raises `ValueError` where two x are equal
    or there are too few.
    """
    _check(x, y, degree + 1)
    if len(np.unique(x)) < len(x):
        raise ValueError("a minimum–maximum fit needs one y for each x; take their mean")
    if len(x) < degree + 2:
        return _without_scatter(
            Method.MINIMUM_MAXIMUM, x, y, least_squares(x, y, degree).coefficients
        )
    order = np.argsort(x)
    middle, half = float(x[order[0]] + x[order[-1]]) / 2, float(np.ptp(x)) / 2
    u, v = (x[order] - middle) / half, y[order]
    chosen = np.unique(np.linspace(0, len(u) - 1, degree + 2).round().astype(np.int64))
    scaled: F64 = np.zeros(degree + 1)
    for _ in range(10 * len(u)):
        powers = u[chosen][:, None] ** np.arange(degree + 1)
        signs = (-1.0) ** np.arange(degree + 2)
        solved = np.linalg.solve(np.column_stack((powers, signs)), v[chosen])
        scaled, level = np.asarray(solved[:-1], np.float64), abs(float(solved[-1]))
        rest = v - np.polynomial.polynomial.polyval(u, scaled)
        worst = int(np.argmax(np.abs(rest)))
        if abs(float(rest[worst])) <= level * (1 + 1e-12) + 1e-14 * float(np.max(np.abs(v))):
            break
        chosen = _exchanged(chosen, rest, worst)
    return _without_scatter(Method.MINIMUM_MAXIMUM, x, y, _unscaled(scaled, middle, half))


def fit(x: F64, y: F64, method: Method, degree: int = 1) -> Fit:
    """The fit by name. Raises `ValueError` as the fits themselves do."""
    chosen = {
        Method.TERMINAL: terminal,
        Method.LEAST_SQUARES: least_squares,
        Method.MINIMUM_MAXIMUM: minimum_maximum,
    }
    return chosen[method](x, y, degree)


def _unscaled(scaled: F64, middle: float, half: float) -> F64:
    """The coefficients in x of a polynomial in (x − middle) / half."""
    coefficients = np.zeros(len(scaled))
    power = np.array([1.0])
    for factor in scaled:
        coefficients[: len(power)] += factor * power
        power = np.polynomial.polynomial.polymul(power, np.array([-middle / half, 1 / half]))
    return coefficients


def _exchanged(
    chosen: np.ndarray[tuple[int], np.dtype[np.int64]], rest: F64, worst: int
) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """The chosen points with the worst one taken in, so that the signs still alternate."""
    at = int(np.searchsorted(chosen, worst))
    points = chosen.copy()
    sign = rest[worst] > 0
    if at == 0:
        if (rest[points[0]] > 0) == sign:
            points[0] = worst
        else:
            points = np.concatenate(([worst], points[:-1]))
    elif at == len(points):
        if (rest[points[-1]] > 0) == sign:
            points[-1] = worst
        else:
            points = np.concatenate((points[1:], [worst]))
    else:
        points[at - 1 if (rest[points[at - 1]] > 0) == sign else at] = worst
    return points


def _least_largest(shape: F64, rest: F64) -> float:
    """The b for which max |rest − b·shape| is smallest (one unknown, convex: golden section)."""
    good = shape != 0.0
    bounds = rest[good] / shape[good]
    low, high = float(np.min(bounds)), float(np.max(bounds))
    golden = (math.sqrt(5) - 1) / 2
    for _ in range(200):
        one, two = high - golden * (high - low), low + golden * (high - low)
        if np.max(np.abs(rest - one * shape)) < np.max(np.abs(rest - two * shape)):
            high = two
        else:
            low = one
    return (low + high) / 2


def _without_scatter(method: Method, x: F64, y: F64, coefficients: F64) -> Fit:
    residuals = y - np.polynomial.polynomial.polyval(x, coefficients)
    size = len(coefficients)
    return Fit(method, coefficients, np.zeros((size, size)), residuals, max(0, len(x) - size))


def _check(x: F64, y: F64, needed: int) -> None:
    if len(x) != len(y) or len(np.unique(x)) < needed:
        raise ValueError(f"a fit needs {needed} different points, each with its reading")
