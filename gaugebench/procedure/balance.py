"""Comparing the pumps: only on what they do not share does a difference speak of a pump."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations

from gaugebench.model.band import parse_band
from gaugebench.model.figures import Absent
from gaugebench.model.job import Phase, ReadingTaken
from gaugebench.model.saying import Saying, fixed
from gaugebench.model.sheet import Check
from gaugebench.model.terms import FunctionKind, Measures
from gaugebench.procedure.cycles import cycle, usual
from gaugebench.procedure.rules import hint_pressure, hint_ratio, label
from gaugebench.procedure.state import JobState
from gaugebench.quantity import Dimension, Number, parse, show

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
    signed = Number(f"{100 * difference:+.1f}".replace("-", "−"))
    words = Saying(
        "{title} {one} and {title2} {two}: {signed} % ± {expanded} %, limit {limit} % ({where})",
        title=a.title,
        one=show(one.value.value, unit),
        title2=b.title,
        two=show(two.value.value, unit),
        signed=signed,
        expanded=fixed(100 * expanded, 1),
        limit=fixed(100 * limit, 1),
        where=where,
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


@dataclass(frozen=True, slots=True)
class Delivery:
    """What a pump delivers into a cylinder of its own, as a share of its full displacement.

    share, expanded: 1 is all that it displaces at that engine speed; k = 2. An estimate: the flow
    is worked out from cylinder and time.
    """

    pump: int
    check: str
    share: float
    expanded: float
    rpm: float

    @property
    def words(self) -> str:
        """In one sentence."""
        return Saying(
            "Pump {pump} delivers {share} % ± {expanded} % of its displacement at "
            "{rpm} rpm ({check}, estimate)",
            pump=self.pump,
            share=fixed(100 * self.share),
            expanded=fixed(100 * self.expanded),
            rpm=fixed(self.rpm),
            check=self.check,
        )


def deliveries(state: JobState, phase: Phase) -> tuple[Delivery, ...]:
    """Each pump's delivery on functions that it does not share, from the repeats of a phase."""
    found = []
    for check in state.sheet.check:
        function = state.sheet.find_function(check.function)
        repeats = cycle(state, check.key, phase)
        if repeats is None or function is None or len(function.pumps) != 1:
            continue
        pump = next(p for p in state.sheet.pump if p.number == function.pumps[0])
        speeds = [c.rpm for c in usual(state, check, phase)]
        known = [r for r in speeds if r is not None]
        flow = repeats.flow
        if isinstance(flow, Absent) or pump.displacement is None or len(known) < len(speeds):
            continue
        rpm = sum(known) / len(known)
        full = parse(pump.displacement, Dimension.VOLUME) * rpm * pump.drive_ratio / 60
        found.append(
            Delivery(
                pump=pump.number,
                check=check.title,
                share=flow.value / full,
                expanded=(flow.expanded or 0.0) / full,
                rpm=rpm,
            )
        )
    return tuple(found)


def flow_words(state: JobState) -> tuple[str, ...]:
    """The pumps compared by flow, as far as their own functions were timed."""
    found = deliveries(state, state.phase) or deliveries(state, Phase.AS_FOUND)
    lines: list[str] = [Saying("{words}.", words=d.words) for d in found]
    for a, b in combinations(found, 2):
        if a.pump == b.pump:
            continue
        apart = abs(a.share - b.share)
        doubt = math.hypot(a.expanded, b.expanded)
        told = "differ" if apart > doubt else "do not differ beyond the uncertainty"
        lines.append(
            Saying(
                "Pumps {pump} and {pump2} {told}: {apart} % ± {doubt} % of their displacement.",
                pump=a.pump,
                pump2=b.pump,
                told=told,
                apart=fixed(100 * apart),
                doubt=fixed(100 * doubt),
            )
        )
    return tuple(lines)
