"""How near figures come to a known truth: one row a figure, held against a limit.

Both sides are the JSON of the figures. A figure that is due and absent is missed, one that is
given and not true is false. Events that the truth calls optional may be absent, and what holds the
pressure may be unclear where the control pressure is taken at a signal port.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

LIMITS = {
    "peak_pa": ("% of reading", 0.6, 0.05),
    "settled_pa": ("% of reading", 0.10, 0.02),
    "settle_s": ("ms", 40.0, 3.0),
    "overshoot_pct": ("points", 0.8, 0.06),
    "control_settled_pa": ("% of 6 MPa", 0.25, 0.0),
    "relief_crack.pressure_pa": ("% of reading", 1.0, 0.10),
    "relief_crack.time_s": ("ms", 15.0, 1.5),
    "destroke_onset.pressure_pa": ("% of reading", 2.5, 0.20),
    "destroke_onset.time_s": ("ms", 15.0, 1.5),
    "limited_by": ("right or wrong", 0.5, 0.0),
    "imbalance_pct": ("points", 0.10, 0.03),
    "sync_lag_s": ("ms", 5.0, 0.5),
    "cycle_time_s": ("ms", 80.0, 2.0),
}
"""Figure → unit, fixed part, slope: at a sample interval of T ms the limit is fixed + slope·T."""
OF_A_LOADING = ("imbalance_pct", "sync_lag_s", "cycle_time_s")
WITHIN, AT_MOST = 0.95, 0.03
"""A figure stands where this share of those given is within the limit, and where at most this
share of those due is missed or false."""


@dataclass(slots=True)
class Row:
    """One figure. errors: as shares of the limit, each with the trace's name."""

    name: str
    due: int = 0
    missed: list[str] = field(default_factory=list)
    false: list[str] = field(default_factory=list)
    errors: list[tuple[float, str]] = field(default_factory=list)

    @property
    def within(self) -> float:
        """Share of the given figures that lie within the limit."""
        good = sum(error <= 1.0 for error, _ in self.errors)
        return good / len(self.errors) if self.errors else math.nan

    @property
    def stands(self) -> bool:
        """Whether the figure is within its limits."""
        ranked = sorted(self.errors)
        worst = ranked[min(len(ranked) - 1, int(WITHIN * len(ranked)))][0] if ranked else math.inf
        wrong = len(self.missed) + len(self.false)
        return (not self.due or worst <= 1.0) and wrong <= AT_MOST * max(self.due, 1)


class ScoreTable:
    """Takes trace after trace; `rows` are then the figures, `wrong_count` the miscounted traces."""

    def __init__(self) -> None:
        self.rows = {name: Row(name) for name in LIMITS}
        self.wrong_count: list[str] = []

    def take(self, name: str, truth: dict[str, Any], got: dict[str, Any]) -> None:
        """Hold the figures of a trace against its truth; loadings are matched from the last on."""
        want, found = truth["loadings"], got["loadings"]
        if len(want) != len(found):
            self.wrong_count.append(name)
        count = max(len(want), len(found))
        padded = [({},) * (count - len(side)) + tuple(side) for side in (want, found)]
        for wanted, given in zip(*padded, strict=True):
            for true, answer, figure in _pairs(wanted, given):
                hidden = figure == "limited_by" and truth.get("control_port") == "signal"
                given_up = hidden and answer.get("limited_by") == "unclear"
                held = true if given_up else answer
                self._hold(name, 1e3 / truth["rate_hz"], figure, true, held)

    def _hold(
        self, trace: str, interval_ms: float, name: str, true: dict[str, Any], got: dict[str, Any]
    ) -> None:
        row = self.rows[name]
        want, given = _pick(true, name), _pick(got, name)
        if want is None:
            if given is not None and name != "limited_by":
                row.false.append(trace)
            return
        if given is None and "." in name and true[name.split(".")[0]].get("optional"):
            return
        row.due += 1
        if given is None:
            row.missed.append(trace)
        else:
            row.errors.append((share_of_limit(name, given, want, interval_ms), trace))

    @property
    def standing(self) -> int:
        """How many figures are within their limits."""
        return sum(row.stands for row in self.rows.values())

    def lines(self) -> Iterator[str]:
        """The table, for people."""
        heads = f"{'due':>4} {'missed':>6} {'false':>5} {'within':>7}  worst"
        yield f"{'figure':28} {'limit':>22} {heads}"
        for name, row in self.rows.items():
            unit, fixed, slope = LIMITS[name]
            limit = f"{fixed:g} + {slope:g}·T {unit}" if slope else f"{fixed:g} {unit}"
            worst = max(row.errors, default=(math.nan, "-"))
            yield (
                f"{name:28} {limit:>22} {row.due:4} {len(row.missed):6} {len(row.false):5} "
                f"{100 * row.within:6.1f}%  {worst[0]:.2f} in {worst[1]}"
                f"{'' if row.stands else '   SHORT'}"
            )
        yield f"{self.standing} of {len(self.rows)} figures within limits"
        if self.wrong_count:
            yield f"wrong number of loadings: {', '.join(self.wrong_count)}"


def share_of_limit(name: str, got: Any, want: Any, interval_ms: float) -> float:
    """The error as a share of the figure's limit at a sample interval."""
    unit, fixed, slope = LIMITS[name]
    match unit:
        case "right or wrong":
            miss = float(got != want)
        case "% of reading":
            miss = abs(got - want) / abs(want) * 100
        case "% of 6 MPa":
            miss = abs(got - want) / 6e6 * 100
        case "ms":
            miss = abs(got - want) * 1e3
        case _:
            miss = abs(got - want)
    return float(miss / (fixed + slope * interval_ms))


def _pairs(
    wanted: dict[str, Any], given: dict[str, Any]
) -> Iterable[tuple[dict[str, Any], dict[str, Any], str]]:
    for name in OF_A_LOADING:
        yield wanted, given, name
    ours, theirs = wanted.get("pumps", {}), given.get("pumps", {})
    for pump in sorted({*ours, *theirs}):
        for name in LIMITS:
            if name not in OF_A_LOADING:
                yield ours.get(pump, {}), theirs.get(pump, {}), name


def _pick(row: dict[str, Any], name: str) -> Any:
    found: Any = row
    for part in name.split("."):
        found = found.get(part) if isinstance(found, dict) else None
    return found
