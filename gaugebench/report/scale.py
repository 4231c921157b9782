"""Round numbers for an axis."""

from __future__ import annotations

import math

from gaugebench.quantity import Number


def ticks(low: float, high: float, about: int = 6) -> tuple[float, ...]:
    """Round values from `low` to `high`, about so many; steps of 1, 2 or 5 times a power of ten."""
    if not high > low:
        return (low,)
    rough = (high - low) / max(1, about)
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * m for m in (1, 2, 5, 10) if power * m >= rough * 0.999)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return tuple(n * step for n in range(first, last + 1))


def label(value: float) -> Number:
    """A tick's text, without a tail of noughts."""
    return Number(f"{value:.6g}".replace("-", "−"))
