"""How often k = 2 intervals hold a known truth: one row a figure, with how wide they are.

Both sides are the JSON of the figures. A figure without an interval, or without a truth, is none.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from statistics import median
from typing import Any

OF_A_PUMP = {
    "initial_pa": ("bar", 1e-5),
    "settled_pa": ("bar", 1e-5),
    "peak_pa": ("bar", 1e-5),
    "t50_s": ("ms", 1e3),
    "settle_s": ("ms", 1e3),
    "overshoot_pct": ("points", 1.0),
    "control_settled_pa": ("bar", 1e-5),
    "relief_crack.pressure_pa": ("bar", 1e-5),
    "relief_crack.time_s": ("ms", 1e3),
    "destroke_onset.pressure_pa": ("bar", 1e-5),
    "destroke_onset.time_s": ("ms", 1e3),
}
OF_A_LOADING = {"imbalance_pct": ("points", 1.0), "sync_lag_s": ("ms", 1e3)}
"""Figure → the unit in which its width is shown, and the factor to it.

A cycle time is left out: when an actuator first moves is defined otherwise inside the machine."""


@dataclass(slots=True)
class Intervals:
    """The intervals of one figure: how many held the truth, and their half-widths."""

    held: int = 0
    widths: list[float] = field(default_factory=list)

    @property
    def share(self) -> float:
        """Coverage in %."""
        return 100 * self.held / max(1, len(self.widths))

    @property
    def width(self) -> float:
        """The median half-width, in the figure's unit."""
        return median(self.widths) if self.widths else 0.0


class IntervalTable:
    """Takes trace after trace; `rows` are then the figures."""

    def __init__(self) -> None:
        self.rows = {name: Intervals() for name in (*OF_A_PUMP, *OF_A_LOADING)}

    def take(self, truth: dict[str, Any], got: dict[str, Any]) -> None:
        """Note the intervals of a trace; loadings are matched from the last on."""
        want, found = truth["loadings"], got["loadings"]
        for true, given in zip(reversed(want), reversed(found), strict=False):
            self._note(OF_A_LOADING, true, given)
            for pump, figures in given["pumps"].items():
                self._note(OF_A_PUMP, true["pumps"].get(pump, {}), figures)

    def _note(self, names: dict[str, Any], true: dict[str, Any], given: dict[str, Any]) -> None:
        for name in names:
            want, value = _pick(true, name), _pick(given, name)
            half = given["u"].get(name)
            if want is None or value is None or half is None:
                continue
            row = self.rows[name]
            row.widths.append(half)
            row.held += abs(value - want) <= half

    def lines(self) -> Iterator[str]:
        """The table, for people."""
        yield f"{'figure':28} {'given':>5} {'held':>7}  median of ±"
        for name, row in self.rows.items():
            unit, factor = (OF_A_PUMP | OF_A_LOADING)[name]
            width = f"{factor * row.width:.3g} {unit}"
            yield f"{name:28} {len(row.widths):5} {row.share:6.1f}%  {width}"


def _pick(row: dict[str, Any], name: str) -> float | None:
    found: Any = row
    for part in name.split("."):
        found = found.get(part) if isinstance(found, dict) else None
    return None if found is None else float(found)
