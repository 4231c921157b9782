"""From numbers found to figures with their uncertainty, or their absence."""

from __future__ import annotations

import math
from collections.abc import Mapping

from gaugebench.model.figures import Absent, Figure, Window


def figure(
    value: float,
    unit: str,
    parts: Mapping[str, float],
    window: Window | None = None,
    cautions: tuple[str, ...] = (),
) -> Figure | Absent:
    """The figure; absent where it is not a finite number, which no caller should let happen.

    parts: standard uncertainties (k = 1), in the figure's unit; they are taken as independent.
    """
    if not math.isfinite(value):
        return Absent("The samples do not give a number.")
    clean = {name: abs(float(sd)) for name, sd in parts.items() if math.isfinite(sd)}
    expanded = 2 * math.sqrt(sum(sd * sd for sd in clean.values())) if clean else None
    return Figure(float(value), unit, expanded, clean, window, tuple(dict.fromkeys(cautions)))
