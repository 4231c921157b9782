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
from gaugebench.procedure.words import number
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


def expanded_m(state: JobState, walk: TravelWalked) -> float | None:
    """The k = 2 interval of the deviation brought to the sheet's distance."""
    if walk.expanded_m is None:
        return None
    return walk.expanded_m * parse(state.sheet.travel.distance, Dimension.LENGTH) / walk.distance_m


def over_limit(
    state: JobState, heading: Heading, phase: Phase | None = None, speed: str | None = None
) -> Over:
    """Whether the walks of a heading passed the limit, second levers left out.

    speed: of the walks at that travel speed alone. Nothing is said where the uncertainty is not
    known, or where the deviation stands nearer to the limit than that.
    """
    wanted = phase or state.phase
    walks = [w for w in state.walks if w.heading is heading and not w.second_lever]
    walks = [w for w in walks if speed is None or w.speed == speed]
    walks = [w for w in walks if w.phase is wanted] or walks
    if not walks:
        return Over(None, "not walked")
    limit = limit_m(state)
    worst = max(walks, key=lambda w: deviation_m(state, w))
    far, doubt = deviation_m(state, worst), expanded_m(state, worst)
    words = Saying("{deviation_m} to the {to}", deviation_m=show(far, "mm", 0), to=worst.to)
    if limit is None:
        return Over(None, Saying("{words}; no limit was stated", words=words))
    if doubt is None:
        return Over(None, Saying("{words}; its uncertainty is not known", words=words))
    if abs(far - limit) <= doubt:
        return Over(None, Saying("{words}; too near to the limit to tell", words=words))
    return Over(far > limit, words)


def reading(state: JobState, key: str, at: datetime) -> ReadingTaken | None:
    """The reading that the walks of this phase make for a check: the greatest deviation.

    None where nothing was walked.
    """
    walks = [w for w in state.walks if w.phase is state.phase and not w.second_lever]
    if not walks:
        return None
    worst = max(walks, key=lambda w: deviation_m(state, w))
    value = Value(
        value=deviation_m(state, worst),
        unit=Dimension.LENGTH.value,
        expanded=expanded_m(state, worst),
    )
    return ReadingTaken(at=at, check=key, phase=state.phase, value=value, how=How.BY_HAND)


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
        share, within = fixed(100 * apart, 1), fixed(100 * doubt, 1)
        lines.append(
            Saying(
                "Raised tracks, {phase}, {heading}, {speed}: left and right {apart} apart, "
                "{limit} % is usual ({label}): {told}.",
                phase=phase,
                heading=heading,
                speed=speed or "speed not stated",
                apart=Saying("{share} % (uncertainty not known)", share=share)
                if None in known
                else Saying("{share} % ± {within} %", share=share, within=within),
                limit=fixed(100 * limit),
                label=label(),
                told=told,
            )
        )
    return tuple(lines)


def reading_words(state: JobState) -> tuple[str, ...]:
    """The walks of a job, each a line."""
    return tuple(_walk_words(w) for w in state.walks)


def off(walk: TravelWalked) -> str:
    """How far a walk left the line, with how well that is known."""
    return number(Value(value=walk.deviation_m, unit="m", expanded=walk.expanded_m), "mm", 0)


def _walk_words(walk: TravelWalked) -> str:
    values = {
        "phase": walk.phase,
        "heading": walk.heading,
        "speed": walk.speed or "speed not stated",
        "off": off(walk),
        "side": walk.to,
        "distance": show(walk.distance_m, "m", 0),
    }
    if walk.second_lever:
        return Saying(
            "{phase}, {heading}, {speed}, second lever over: {off} to the {side} over {distance}",
            **values,
        )
    return Saying("{phase}, {heading}, {speed}: {off} to the {side} over {distance}", **values)


def judgements(state: JobState) -> tuple[str, ...]:
    """Mechanical or hydraulic, for each travel speed that was walked; low and high are apart."""
    speeds = list(dict.fromkeys(w.speed for w in state.walks if not w.second_lever))
    if len(speeds) < 2:
        return (judgement(state, *speeds),)
    return tuple(
        Saying("{speed}: {words}", speed=s or "speed not stated", words=judgement(state, s))
        for s in speeds
    )


def judgement(state: JobState, speed: str | None = None) -> str:
    """Mechanical or hydraulic, as far as the walks tell; of one travel speed where it is given."""
    forward = over_limit(state, Heading.FORWARD, speed=speed)
    reverse = over_limit(state, Heading.REVERSE, speed=speed)
    if limit_m(state) is None:
        return "Walk it forward and in reverse, and state the limit, before a cause is sought."
    unknown = {h: o for h, o in zip(Heading, (forward, reverse), strict=True) if o.over is None}
    if unknown:
        return Saying(
            "No cause is sought yet: {missing}.",
            missing=joined(
                Saying("{heading}: {words}", heading=h, words=o.words) for h, o in unknown.items()
            ),
        )
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
