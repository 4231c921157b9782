"""The stall coach: how long oil may go over a relief, and when the next stall may begin.

The heat budget is a store that fills while oil goes over a relief and drains while nothing does.
It is full after the longest stall at the power of the present one, and a full store drains in
twice the rest, so that stalls of the usual length with the usual rest never meet it and longer or
hotter ones do. Common practice, no source; the sheet's `[stall]` table sets the numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from gaugebench.model.job import StallEnded
from gaugebench.model.saying import Saying, fixed
from gaugebench.model.sheet import Stall
from gaugebench.quantity import Dimension, parse


@dataclass(frozen=True, slots=True)
class StallLimits:
    """What a stall keeps to.

    usual_s, never_s: over a relief. rest_s: unloaded between. tank_stop_c: no stall from here on.
    """

    usual_s: float = 5.0
    never_s: float = 10.0
    rest_s: float = 30.0
    tank_stop_c: float = 80.0

    @staticmethod
    def of(table: Stall) -> StallLimits:
        """The limits of a sheet."""
        return StallLimits(
            usual_s=parse(table.usual, Dimension.TIME),
            never_s=parse(table.never, Dimension.TIME),
            rest_s=parse(table.rest, Dimension.TIME),
            tank_stop_c=parse(table.tank_stop, Dimension.TEMPERATURE),
        )

    @property
    def budget_s(self) -> float:
        """The store, in seconds of stall."""
        return self.never_s

    @property
    def drain(self) -> float:
        """Seconds of stall that one second of rest works off."""
        return self.budget_s / (2 * self.rest_s)


@dataclass(frozen=True, slots=True)
class Call:
    """What the coach says. let_go: the lever is to be released now. left_s: until then."""

    text: str
    let_go: bool
    left_s: float
    alarm: bool = False


def stored_s(limits: StallLimits, stalls: Sequence[StallEnded], now: datetime) -> float:
    """What the store holds now, in seconds of stall at the greatest power met so far.

    A stall that is dated later than now (a clock was set back) counts as ended just now.
    """
    greatest = max((s.power_w for s in stalls), default=0.0)
    store, last = 0.0, None
    for stall in sorted(stalls, key=lambda s: s.at):
        at = min(stall.at, now)
        if last is not None:
            store = max(0.0, store - limits.drain * (at - last).total_seconds())
        share = stall.power_w / greatest if greatest > 0 else 1.0
        store += stall.seconds * share
        last = at
    if last is None:
        return 0.0
    return max(0.0, store - limits.drain * (now - last).total_seconds())


def refusal(
    limits: StallLimits, stalls: Sequence[StallEnded], now: datetime, oil_c: float | None
) -> str | None:
    """Why the next stall must wait, or None where it may begin."""
    if oil_c is not None and oil_c >= limits.tank_stop_c:
        return Saying(
            "The oil is at {oil_c} °C: no stall from {tank_stop_c} °C on; let it cool, unloaded.",
            oil_c=fixed(oil_c),
            tank_stop_c=fixed(limits.tank_stop_c),
        )
    if not stalls:
        return None
    rested = (now - min(now, max(s.at for s in stalls))).total_seconds()
    store = stored_s(limits, stalls, now)
    # Room for one stall of the usual length must be left.
    excess = store + limits.usual_s - limits.budget_s
    wait = max(limits.rest_s - rested, excess / limits.drain)
    if wait <= 0:
        return None
    return Saying(
        "Wait {wait} s more, unloaded: the last stalls' heat is not worked off yet.",
        wait=fixed(wait),
    )


def call(limits: StallLimits, over_relief_s: float, settled: bool) -> Call:
    """What to say during a stall. over_relief_s: how long oil has gone over the relief so far."""
    left = limits.never_s - over_relief_s
    if left <= 0:
        text = Saying(
            "Let go now: {over_relief_s} s over relief, {never_s} s is the most.",
            over_relief_s=fixed(over_relief_s),
            never_s=fixed(limits.never_s),
        )
        return Call(text, let_go=True, left_s=0.0, alarm=True)
    if settled:
        return Call("Enough, let go.", let_go=True, left_s=left)
    if over_relief_s >= limits.usual_s:
        text = Saying("Not settled yet; let go within {left} s.", left=fixed(left))
        return Call(text, let_go=False, left_s=left, alarm=left <= 2.0)
    return Call(
        Saying("Hold: {over_relief_s} s.", over_relief_s=fixed(limits.usual_s - over_relief_s)),
        let_go=False,
        left_s=left,
    )
