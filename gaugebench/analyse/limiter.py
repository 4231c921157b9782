"""What holds the pressure: oil going over the relief, or the cut-off with the relief shut.

At a cut-off stall the pump gives only what leaks, so its control pressure stands little above idle;
over the relief it gives more. And as the lever is let go, a pump held by the cut-off strokes up
again when the pressure gives, while one that is held by the relief does not. Both signs are
weighed; where they do not agree the answer is “unclear”. The torque limit makes both signs too,
but on its own course: where that explains how the stroke gave way, the signs say nothing, and
what is left to hold the pressure is the relief. Engine speed is not asked: it falls with the load,
and rises again as a pump de-strokes for whatever reason.
"""

from __future__ import annotations

import math

from gaugebench.analyse.control import Control
from gaugebench.analyse.hold import Hold
from gaugebench.analyse.torque import Slide
from gaugebench.model.figures import LimitedBy, Limiter
from gaugebench.model.role import ControlPort
from gaugebench.model.saying import Saying, fixed

LEAK_SHARE = 0.26
"""The stroke that covers leakage stays below about this share of full stroke."""
BUMP_SHARE = 0.3
"""Letting the lever go strokes a pump in cut-off up by more than about this share of its stroke."""
_CLEAR = 0.25
BOOST_SHARES = (0.03, 0.15)
"""A second relief stage stands so far above the first (5 to 10 %; common practice, no source)."""


def limited_by(control: Control | None, port: ControlPort, slide: Slide | None) -> LimitedBy:
    """What holds the pressure, with the reason in words. slide: how the stroke gave way."""
    if port is ControlPort.SIGNAL:
        return LimitedBy(
            Limiter.UNCLEAR,
            "The control channel sits on the lever's signal, which the cut-off does not move.",
        )
    if control is None:
        return LimitedBy(
            Limiter.UNCLEAR,
            "Without the control pressure the relief cannot be told from the cut-off.",
        )
    if slide is not None and slide.is_plain:
        return LimitedBy(
            Limiter.RELIEF,
            "Oil goes over the relief: the pump gave way as the torque limit lets it, with the sum "
            "of the main pressures, and not at a cut-off.",
        )
    share = control.settled / control.full
    score = _capped(math.log(max(share, 1e-3) / LEAK_SHARE) / 0.25)
    if not control.full_known and share < 0.7:
        # Full stroke may be far higher than what the trace shows: a small share says little.
        score = min(score, 0.0)
    way = "from idle towards full stroke" if share >= 0 else "from idle away from full stroke"
    words: str = Saying(
        "the control pressure has gone {share} % {way}", share=fixed(abs(100 * share)), way=way
    )
    if control.bump is not None:
        # A lever that is let go fast leaves no time to stroke up: no such sign says little.
        bump = math.log(max(control.bump, 0.02) / BUMP_SHARE)
        score -= max(-0.5, _capped(bump))
        up = fixed(100 * max(0.0, control.bump))
        other = Saying("letting go strokes the pump up by {bump} %", bump=up)
        words = Saying("{one}, and {other}", one=words, other=other)
    if score > _CLEAR:
        return LimitedBy(Limiter.RELIEF, Saying("Oil goes over the relief: {words}.", words=words))
    if score < -_CLEAR:
        return LimitedBy(Limiter.CUT_OFF, Saying("The pump is de-stroked: {words}.", words=words))
    return LimitedBy(Limiter.UNCLEAR, Saying("The signs do not agree: {words}.", words=words))


def staged(found: LimitedBy, hold: Hold) -> LimitedBy:
    """The same, or the boost stage where a hold over the relief stood lower at first."""
    if found.limiter is not Limiter.RELIEF or hold.other is None:
        return found
    low = hold.other[0]
    if not BOOST_SHARES[0] < hold.level / low - 1 < BOOST_SHARES[1]:
        return found
    return LimitedBy(
        Limiter.BOOST,
        Saying(
            "Oil goes over the relief, first at {low} MPa and then at {level} MPa: two plateaus, "
            "as a second stage makes them.",
            low=fixed(low / 1e6, 2),
            level=fixed(hold.level / 1e6, 2),
        ),
    )


def _capped(value: float) -> float:
    return max(-2.5, min(2.5, value))
