"""Comparing the pumps: only on what they do not share does a difference speak of a pump."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations

from gaugebench.model.band import parse_band
from gaugebench.model.job import ReadingTaken
from gaugebench.model.sheet import Check
from gaugebench.model.terms import FunctionKind, Measures
from gaugebench.procedure.rules import hint_pressure, hint_ratio, label
from gaugebench.procedure.state import JobState
from gaugebench.quantity import Dimension, show

SHARED = (
    "behind one relief, or merged, equal pressures say nothing of the pumps; a difference there is "
    "a transducer, a check valve or the merge spool"
)
SEPARATE = "each behind its own relief; a difference is between two settings, not two pumps"


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two readings side by side.

    difference, expanded: of the two as a share of their mean. apart: whether the difference passes
    the limit for certain; None where the uncertainty does not let that be told.
    """

    first: str
    second: str
    difference: float
    expanded: float
    limit: float
    limit_from: str
    apart: bool | None
    meaning: str
    words: str


def shared_pairs(state: JobState, shown_in: str = "bar") -> tuple[Comparison, ...]:
    """Readings of the same figure at two pumps on one merged function or behind one relief."""
    return tuple(c for c, is_shared in _pairs(state, shown_in) if is_shared)


def comparisons(state: JobState, shown_in: str = "bar") -> tuple[Comparison, ...]:
    """All readings of the same kind at two pumps, side by side."""
    return tuple(c for c, _ in _pairs(state, shown_in))


def _pairs(state: JobState, unit: str) -> list[tuple[Comparison, bool]]:
    held = {Measures.RELIEF, Measures.CUT_OFF, Measures.SETTLED}
    checks = [c for c in state.sheet.check if c.figure in held and c.role.pump is not None]
    found = []
    for a, b in combinations(checks, 2):
        if a.figure is not b.figure or a.role.pump == b.role.pump or a.stage is not b.stage:
            continue
        one, two = state.latest(a.key), state.latest(b.key)
        if one is None or two is None:
            continue
        kind = _kind(state, a, b)
        if kind is not None:
            found.append((_compare(state, (a, one), (b, two), kind, unit), kind == "shared"))
    return found


def _kind(state: JobState, a: Check, b: Check) -> str | None:
    f, g = state.sheet.find_function(a.function), state.sheet.find_function(b.function)
    if f is None or g is None or f.kind is not g.kind:
        return None
    if f.kind is FunctionKind.TRAVEL:
        return "travel"
    guard = state.sheet.find_relief(f.relief)
    if (f.name == g.name and f.merged) or (f.relief == g.relief and guard and guard.shared):
        return "shared"
    return "separate"


def _compare(
    state: JobState,
    first: tuple[Check, ReadingTaken],
    second: tuple[Check, ReadingTaken],
    kind: str,
    unit: str,
) -> Comparison:
    (a, one), (b, two) = first, second
    mean = (one.value.value + two.value.value) / 2
    difference = (one.value.value - two.value.value) / mean if mean else 0.0
    doubt = math.hypot(one.value.expanded or 0.0, two.value.expanded or 0.0)
    expanded = doubt / abs(mean) if mean else 0.0
    unsure = one.value.expanded is None or two.value.expanded is None
    limit, where = _limit(state, kind, mean)
    apart: bool | None = abs(difference) > limit
    if unsure or abs(abs(difference) - limit) <= expanded:
        apart = None
    signed = f"{100 * difference:+.1f}".replace("-", "−")
    words = (
        f"{a.title} {show(one.value.value, unit)} and {b.title} {show(two.value.value, unit)}: "
        f"{signed} % ± {100 * expanded:.1f} %, limit {100 * limit:.1f} % ({where})"
    )
    meaning = SHARED if kind == "shared" else SEPARATE
    return Comparison(a.key, b.key, difference, expanded, limit, where, apart, meaning, words)


def _limit(state: JobState, kind: str, mean: float) -> tuple[float, str]:
    table = state.sheet.balance
    stated = {"shared": table.shared, "separate": table.separate, "travel": table.travel}[kind]
    if stated is not None:
        band = parse_band(stated, Dimension.RATIO)
        return band.high or 0.0, table.source
    share = hint_ratio("balance", kind)
    if kind == "travel" and mean:
        share = max(share, hint_pressure("balance", "travel_floor") / mean)
    return share, label()
