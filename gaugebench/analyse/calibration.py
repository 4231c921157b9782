"""A transducer's calibration: its errors in % of full scale, its curve, its zero and its drift.

Terms after IEC 61298-2 and ISA-51.1 (from memory). Pressures and readings in any one unit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaugebench.analyse import uncertainty
from gaugebench.analyse.lines import Fit, Method, fit, least_squares
from gaugebench.model.arrays import F64
from gaugebench.model.figures import Absent, Answer, Figure

DAYS_A_YEAR = 365.25


@dataclass(frozen=True, slots=True, eq=False)
class Cycle:
    """One run over the applied points: readings going up and, where taken, coming down.

    Both of shape (n,), in the order of the applied points.
    """

    up: F64
    down: F64 | None = None


@dataclass(frozen=True, slots=True)
class Errors:
    """A transducer's errors in % of full scale; each absent with a reason where not to be had.

    Non-linearity is the largest deviation of the mean upward readings from the line by each method.
    Hysteresis: largest difference, down − up, at one point of one cycle. Repeatability: largest
    difference of two upward readings at one point. Zero return: largest difference of the first
    point's readings at the end and at the start of one cycle.
    """

    terminal: Answer
    least_squares: Answer
    minimum_maximum: Answer
    hysteresis: Answer
    repeatability: Answer
    zero_return: Answer


def errors(applied: F64, cycles: Sequence[Cycle], full_scale: float) -> Errors:
    """The errors of a table of applied and indicated values.

    applied: shape (n,), rising. Raises `ValueError` where a cycle has another number of points,
    there is none, or full scale is not above zero.
    """
    if not cycles or full_scale <= 0.0 or np.any(np.diff(applied) <= 0.0):
        raise ValueError("a calibration needs rising points, a cycle and a full scale above zero")
    if any(len(run) != len(applied) for c in cycles for run in (c.up, c.down) if run is not None):
        raise ValueError("every cycle of a calibration has a reading for each applied point")

    def share(value: float) -> Figure:
        return Figure(100 * abs(value) / full_scale, "% FS")

    ups = np.array([cycle.up for cycle in cycles])
    both = [(c.up, c.down) for c in cycles if c.down is not None]
    if both:
        loops = np.array([down - up for up, down in both])
        hysteresis: Answer = share(float(np.max(np.abs(loops))))
        zero_return: Answer = share(float(np.max(np.abs(loops[:, 0]))))
    else:
        hysteresis = zero_return = Absent("No readings were taken on the way down.")
    if len(cycles) > 1:
        repeatability: Answer = share(float(np.max(np.ptp(ups, axis=0))))
    else:
        repeatability = Absent("A single cycle shows no repeatability.")
    mean = ups.mean(axis=0)
    return Errors(
        terminal=share(fit(applied, mean, Method.TERMINAL).largest),
        least_squares=share(fit(applied, mean, Method.LEAST_SQUARES).largest),
        minimum_maximum=share(fit(applied, mean, Method.MINIMUM_MAXIMUM).largest),
        hysteresis=hysteresis,
        repeatability=repeatability,
        zero_return=zero_return,
    )


def indication_parts(
    reference: float,
    hysteresis: float = 0.0,
    repeatability: float = 0.0,
    zero_return: float = 0.0,
    step: float = 0.0,
) -> dict[str, float]:
    """The standard uncertainties (k = 1) of a calibrated indication, by name.

    reference: standard uncertainty of the standard; the others are spans, taken as rectangular
    (JCGM 100 F.2.2.1 and F.2.2.2: span / √12). All in one unit.
    """
    spans = {
        "hysteresis": hysteresis,
        "repeatability": repeatability,
        "zero return": zero_return,
        "resolution": step,
    }
    parts = {name: uncertainty.resolution(span) for name, span in spans.items()}
    return {"reference": reference, **parts}


@dataclass(frozen=True, slots=True)
class Equation:
    """The line that turns a reading into a pressure, applied = intercept + slope · reading.

    All uncertainties are standard (k = 1). correlation: of slope and intercept. reading: of a
    later reading, in its unit. linearity: of what the line leaves, in the unit of the pressure.
    """

    slope: float
    intercept: float
    slope_standard: float
    intercept_standard: float
    correlation: float
    reading: float
    linearity: float

    def pressure(self, reading: float) -> float:
        """The pressure for a reading."""
        return self.intercept + self.slope * reading

    def standard(self, reading: float) -> float:
        """The standard uncertainty of that pressure (JCGM 100 equation 16)."""
        parts = {
            "slope": uncertainty.Part(self.slope_standard, reading),
            "intercept": uncertainty.Part(self.intercept_standard),
            "reading": uncertainty.Part(self.reading, self.slope),
            "linearity": uncertainty.Part(self.linearity),
        }
        pair = {("slope", "intercept"): self.correlation}
        return uncertainty.combine(parts, pair).standard


def two_point(
    readings: F64, applied: F64, relative: float, reading: float, linearity_bound: float
) -> Equation:
    """The terminal line through the ends of a calibration, with its uncertainty.

    relative: relative standard uncertainty of the applied pressures, each its own. reading:
    standard uncertainty of a reading. linearity_bound: ± bound of what the line leaves
    (rectangular). After Kessel, Kacker, Sommer, Measurement 45 (2012) 1661–1669.
    """
    x0, x1 = float(readings[0]), float(readings[-1])
    y0, y1 = float(applied[0]), float(applied[-1])
    if x1 == x0:
        raise ValueError("a calibration's ends need different readings")
    slope = (y1 - y0) / (x1 - x0)
    # Sensitivities of slope and intercept to y0, y1, x0, x1
    of_slope = np.array([-1.0, 1.0, slope, -slope]) / (x1 - x0)
    of_intercept = np.array([x1, -x0, -slope * x1, slope * x0]) / (x1 - x0)
    inputs = np.array([relative * y0, relative * y1, reading, reading])
    u_slope, u_intercept = of_slope * inputs, of_intercept * inputs
    standard_slope = math.hypot(*(float(u) for u in u_slope))
    standard_intercept = math.hypot(*(float(u) for u in u_intercept))
    shared = standard_slope * standard_intercept
    return Equation(
        slope=slope,
        intercept=y0 - slope * x0,
        slope_standard=standard_slope,
        intercept_standard=standard_intercept,
        correlation=float(u_slope @ u_intercept) / shared if shared else 0.0,
        reading=reading,
        linearity=uncertainty.rectangular(linearity_bound),
    )


def curve(readings: F64, applied: F64, method: Method, degree: int = 1) -> Fit:
    """The curve from readings to applied pressures. Raises `ValueError` as the fits do."""
    return fit(readings, applied, method, degree)


@dataclass(frozen=True, slots=True)
class Drift:
    """How a reading at one applied value moves over the years.

    per_year: with its standard uncertainty (k = 1). fit: of the readings over days.
    """

    per_year: float
    standard: float
    fit: Fit

    def expected(self, day: float, level: float = 0.95) -> tuple[float, float]:
        """The reading to expect on a day, and the half-width that holds it with this level."""
        return self.fit.at(day), self.fit.prediction(day, level)


def drift(days: F64, readings: F64) -> Drift:
    """The drift of readings taken on days (any day counted 0). Raises for fewer than three."""
    if len(days) < 3:
        raise ValueError("drift needs three calibrations or more")
    line = least_squares(days, readings)
    yearly = DAYS_A_YEAR
    return Drift(float(line.coefficients[1]) * yearly, float(line.standards[1]) * yearly, line)


@dataclass(frozen=True, slots=True)
class ZeroCheck:
    """The zeros of one transducer before and after a job, with its serial number, Pa gauge.

    standard: the standard uncertainty (k = 1) of the difference of the two means.
    """

    serial: str
    before: float
    after: float
    standard: float

    @property
    def shift(self) -> float:
        """after − before."""
        return self.after - self.before

    def has_moved(self, allowed: float = 0.0) -> bool:
        """Whether the shift is beyond its k = 2 uncertainty and beyond what is allowed."""
        return abs(self.shift) > max(uncertainty.K * self.standard, allowed)
