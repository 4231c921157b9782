"""How high an axis reaches: grown at once, shrunk only when much too high. No Qt."""

from __future__ import annotations

import math

ROOM = 0.06
"""Air above and below, as a share of the height."""
SHRINK_BELOW = 0.55
"""An axis is shrunk when what it shows needs less than this share of it."""

Span = tuple[float, float]


def nice_step(rough: float) -> float:
    """The next of 1, 2, 5 times a power of ten at or above `rough` (> 0)."""
    power = 10.0 ** math.floor(math.log10(rough))
    return next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= rough * (1 - 1e-9))


def wanted(low: float, high: float, *, least: float, from_zero: bool) -> Span:
    """The axis for values between `low` and `high`, ending on round numbers."""
    if from_zero:
        low, high = min(low, 0.0), max(high, 0.0)
    height = max(high - low, least)
    # An engine that stands still does not turn at −200 rpm: the axis reaches up from zero.
    from_zero = from_zero or (low >= 0.0 and (low + high) < height)
    if not from_zero:
        middle = (low + high) / 2
        low, high = middle - height / 2, middle + height / 2
    elif high < height:
        high = height
    step = nice_step(height / 8)
    air = ROOM * height
    # A few bar below zero are a zero error, not a reason for another step below.
    bottom = -air if from_zero and low > -air else math.floor((low - air) / step) * step
    return bottom, math.ceil((high + air) / step) * step


def settle(now: Span | None, low: float, high: float, *, least: float, from_zero: bool) -> Span:
    """The axis to use, given the one in use: changed only where it must be."""
    if not (math.isfinite(low) and math.isfinite(high)):
        return now or wanted(0.0, 0.0, least=least, from_zero=from_zero)
    want = wanted(low, high, least=least, from_zero=from_zero)
    if now is None:
        return want
    fits = low >= now[0] and high <= now[1]
    too_high = (want[1] - want[0]) < SHRINK_BELOW * (now[1] - now[0])
    return now if fits and not too_high else want
