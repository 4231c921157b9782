"""Straight travel: walks against the limit, mechanical told from hydraulic."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from gaugebench.model.job import (
    Heading,
    How,
    Phase,
    ReadingTaken,
    Side,
    TravelWalked,
    Value,
)
from gaugebench.model.saying import Saying, fixed, joined
from gaugebench.procedure.rules import hint_ratio, label
from gaugebench.procedure.state import JobState
from gaugebench.quantity import Dimension, parse, show

ORDER = (
    "track tension",
    "rollers and sprockets",
    "a dragging brake",
    "travel pilot, left and right",
    "the travel spool",
    "the straight-travel valve (walk again with a second lever over)",
    "motor displacement (low and high speed apart)",
    "the centre joint",
    "motor case drain",
    "the pump",
)
"""What is looked at, in this order (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Over:
    """Whether the walks of a heading passed the limit; None where that is not known."""

    over: bool | None
    words: str


def limit_m(state: JobState) -> float | None:
    """How far it may leave the line over `distance_m`; None where the sheet states none."""
    limit = state.sheet.travel.limit
    return None if limit is None else parse(limit, Dimension.LENGTH)


def deviation_m(state: JobState, walk: TravelWalked) -> float:
    """The deviation brought to the sheet's distance, in proportion."""
    return walk.deviation_m * parse(state.sheet.travel.distance, Dimension.LENGTH) / walk.distance_m


def over_limit(state: JobState, heading: Heading, phase: Phase | None = None) -> Over:
    """Whether the walks of a heading passed the limit, second levers left out."""
    wanted = phase or state.phase
    walks = [w for w in state.walks if w.heading is heading and not w.second_lever]
    walks = [w for w in walks if w.phase is wanted] or walks
    if not walks:
        return Over(None, "not walked")
    limit = limit_m(state)
    worst = max(walks, key=lambda w: deviation_m(state, w))
    words = Saying(
        "{deviation_m} to the {to}",
        deviation_m=show(deviation_m(state, worst), "mm", 0),
        to=worst.to,
    )
    if limit is None:
        return Over(None, Saying("{words}; no limit was stated", words=words))
    return Over(deviation_m(state, worst) > limit, words)


def reading(
    state: JobState, key: str, at: datetime, expanded_m: float | None
) -> ReadingTaken | None:
    """The reading that the walks of this phase make for a check: the greatest deviation.

    expanded_m: k = 2, of how the deviation was measured. None where nothing was walked.
    """
    walks = [w for w in state.walks if w.phase is state.phase and not w.second_lever]
    if not walks:
        return None
    worst = max(deviation_m(state, w) for w in walks)
    return ReadingTaken(
        at=at,
        check=key,
        phase=state.phase,
        value=Value(value=worst, unit=Dimension.LENGTH.value, expanded=expanded_m),
        how=How.BY_HAND,
    )


def track_words(state: JobState) -> tuple[str, ...]:
    """Raised tracks, left against right, for each heading and speed that was timed on both."""
    lines: list[str] = []
    limit = hint_ratio("balance", "track_speed")
    kinds = dict.fromkeys((t.phase, t.heading, t.speed) for t in state.tracks)
    for kind in kinds:
        sides = {t.side: t for t in state.tracks if (t.phase, t.heading, t.speed) == kind}
        if len(sides) < 2:
            continue
        left, right = (sides[s].turns / sides[s].seconds.value for s in (Side.LEFT, Side.RIGHT))
        apart = 2 * abs(left - right) / (left + right)
        known = [t.seconds.expanded for t in sides.values()]
        shares = [(t.seconds.expanded or 0.0) / t.seconds.value for t in sides.values()]
        doubt = math.hypot(*shares)
        told = "apart" if apart > limit else "even"
        if None in known or abs(apart - limit) <= doubt:
            told = "cannot tell"
        phase, heading, speed = kind
        lines.append(
            Saying(
                "Raised tracks, {phase}, {heading}, {speed}: left and right {apart} % ± "
                "{doubt} % apart, {limit} % is usual ({label}): {told}.",
                phase=phase,
                heading=heading,
                speed=speed or "speed not stated",
                apart=fixed(100 * apart, 1),
                doubt=fixed(100 * doubt, 1),
                limit=fixed(100 * limit),
                label=label(),
                told=told,
            )
        )
    return tuple(lines)


def reading_words(state: JobState) -> tuple[str, ...]:
    """The walks of a job, each a line."""
    return tuple(_walk_words(w) for w in state.walks)


def _walk_words(walk: TravelWalked) -> str:
    values = {
        "phase": walk.phase,
        "heading": walk.heading,
        "speed": walk.speed or "speed not stated",
        "off": show(walk.deviation_m, "mm", 0),
        "side": walk.to,
        "distance": show(walk.distance_m, "m", 0),
    }
    if walk.second_lever:
        return Saying(
            "{phase}, {heading}, {speed}, second lever over: {off} to the {side} over {distance}",
            **values,
        )
    return Saying("{phase}, {heading}, {speed}: {off} to the {side} over {distance}", **values)


def judgement(state: JobState) -> str:
    """Mechanical or hydraulic, as far as the walks tell."""
    forward = over_limit(state, Heading.FORWARD)
    reverse = over_limit(state, Heading.REVERSE)
    if forward.over is None or reverse.over is None:
        return "Walk it forward and in reverse, and state the limit, before a cause is sought."
    if forward.over and reverse.over:
        return Saying(
            "It leaves the line both ways: look at the mechanics first ({list}).",
            list=joined(ORDER[:3], ", "),
        )
    if forward.over or reverse.over:
        return Saying(
            "It leaves the line one way only: look at the oil ({list}, …).",
            list=joined(ORDER[3:6], ", "),
        )
    return "It stays on the line both ways, within its limit."
