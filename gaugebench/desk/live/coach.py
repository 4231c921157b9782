"""The stall coach: counts a hold down, says “let go”, and keeps the heat it costs. No Qt.

It counts from the moment a main pressure passes a level below any relief that is being read, and
does so from the samples themselves, so that no analysis that lags can let ten seconds pass unsaid.
Whether the hold can be read is the live analysis's word.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from math import ceil

from gaugebench.desk.live.feed import Stalled
from gaugebench.desk.live.work import RATED_RPM, Work
from gaugebench.desk.shown import plain
from gaugebench.desk.words import tr
from gaugebench.model.job import Hands, StallEnded
from gaugebench.procedure import heat

LEAST_PA = 1e7
"""Below this nothing goes over a main relief (common practice, no source)."""
SHARE = 0.7
"""A hold is counted from this share of the pressure that is expected."""
BACK = 0.9
"""It has ended once the pressure is below this share of the level that it was counted from."""
DISPLACEMENT_M3 = 1e-4
"""Of a pump that the sheet says nothing of: 100 cm³ a turn (common practice, no source)."""
WARN_S = 2.0
LEAST_S = 0.5
"""A shorter flash of pressure puts no heat into the oil that is worth a line in the job."""


class Kind(StrEnum):
    """What the operator is to do."""

    REST = "rest"
    WAIT = "wait"
    GO = "go"
    HOLD = "hold"
    LATE = "late"
    LET_GO = "let go"
    OVER = "over"


@dataclass(frozen=True, slots=True)
class Order:
    """One order. big: what to do, in one or two words. count: whole seconds that are counted down,
    None where nothing is. small: what belongs to it. is_alarm: it must not be missed."""

    kind: Kind
    big: str = ""
    small: str = ""
    count: int | None = None
    is_alarm: bool = False

    def text(self) -> str:
        """The order in one line."""
        head = f"{self.big} {self.count}" if self.count is not None else self.big
        return f"{head}: {self.small}" if head and self.small else head or self.small


@dataclass(slots=True)
class Coach:
    """Follows one session. Pressures in Pa, instants in s on the session clock."""

    over_s: float = 0.0
    """For how long oil may have gone over a relief in the hold that stands; 0 where none does."""
    joules: float = 0.0
    """The most heat that the holds so far can have put into the oil."""
    stalls: list[StallEnded] = field(default_factory=list)
    owed: list[StallEnded] = field(default_factory=list)
    """Holds that ended and are not in the job's heat budget yet."""
    _since_s: float | None = None
    _last_s: float | None = None
    _work_j: float = 0.0
    _has_said: bool = False

    def step(
        self,
        at_s: float,
        wall: datetime,
        mains: Mapping[int, float],
        stall: Stalled,
        work: Work | None = None,
        rpm: float | None = None,
    ) -> Order:
        """One look. mains: pump → pressure now; NaN counts as none. wall: the wall time."""
        limits = work.limits if work is not None else heat.StallLimits()
        floor = level(work, stall)
        top = max((p for p in mains.values() if p == p), default=0.0)
        is_up = top >= (floor if self._since_s is None else BACK * floor)
        if is_up:
            if self._since_s is None:
                self._since_s, self._work_j, self._has_said = at_s, 0.0, False
            step = max(at_s - (self._last_s if self._last_s is not None else at_s), 0.0)
            self.over_s = at_s - self._since_s
            power = sum(
                p * _flow(pump, work, rpm) for pump, p in mains.items() if p >= BACK * floor
            )
            self._work_j += power * step
            self.joules += power * step
        elif self._since_s is not None:
            self._end(wall, work)
        self._last_s = at_s
        return self._say(wall, stall, work, limits) if is_up else self._rest(wall, work, limits)

    def stored_s(self, work: Work | None, wall: datetime) -> float:
        """How full the heat budget is now, in seconds of stall, the present hold included."""
        limits = work.limits if work is not None else heat.StallLimits()
        return heat.stored_s(limits, self.stalls, wall) + self.over_s

    def _end(self, wall: datetime, work: Work | None) -> None:
        seconds = self.over_s
        self._since_s, self.over_s = None, 0.0
        if seconds <= 0:
            return
        oil = work.oil_c if work is not None else None
        power = self._work_j / seconds
        ended = StallEnded(at=wall, function="", seconds=seconds, power_w=power, oil_c=oil)
        self.stalls.append(ended)
        del self.stalls[:-50]
        if work is not None and seconds >= LEAST_S:
            self.owed.append(ended)

    def _say(
        self, wall: datetime, stall: Stalled, work: Work | None, limits: heat.StallLimits
    ) -> Order:
        if work is not None and work.hands is Hands.IN:
            small = tr("Hands are in: somebody may be at the machine")
            return Order(Kind.OVER, tr("Levers to neutral"), small, is_alarm=True)
        call = heat.call(limits, self.over_s, settled=stall.is_settled or self._has_said)
        if call.let_go:
            # Once it was said it stands until the lever is let go.
            self._has_said = True
            if call.left_s > 0 and not call.alarm:
                is_late = call.left_s <= WARN_S
                return Order(Kind.LET_GO, tr("LET GO"), tr("enough"), is_alarm=is_late)
            over = tr("{seconds} s over the relief", seconds=plain(self.over_s, 0))
            return Order(Kind.OVER, tr("Let go now"), over, is_alarm=True)
        if work is not None and work.loads and (wait := _hot(self, limits, wall, work)):
            return Order(Kind.OVER, tr("Let go now"), wait, is_alarm=True)
        if self.over_s >= limits.usual_s:
            small = tr("not settled yet; let go when the count is over")
            return Order(Kind.LATE, tr("Hold"), small, ceil(call.left_s), call.left_s <= WARN_S)
        return Order(Kind.HOLD, tr("Hold"), "", ceil(limits.usual_s - self.over_s))

    def _rest(self, wall: datetime, work: Work | None, limits: heat.StallLimits) -> Order:
        hot = _hot(self, limits, wall, work)
        if work is None:
            return _cool(self, limits, wall, hot) if hot else Order(Kind.REST)
        if work.hands is Hands.IN:
            return Order(Kind.WAIT, tr("Hands off"), tr("Hands are in: leave the levers alone"))
        if work.check is None:
            return Order(Kind.REST, tr("Nothing to do"), tr("Every check is read"))
        if work.loads and hot:
            return _cool(self, limits, wall, hot)
        if work.refusals:
            return Order(Kind.WAIT, tr("Wait"), work.refusals[0])
        function, how = work.order()
        return Order(Kind.GO, function or how, how if function else "")


def level(work: Work | None, stall: Stalled) -> float:
    """The main pressure from which a hold is counted, Pa."""
    expected = stall.highest_pa
    if work is not None and work.loads and work.role is not None and work.role.port == "main":
        band = work.band
        edge = None if band is None else band.low if band.low is not None else band.high
        expected = edge if edge is not None else expected
    return max(SHARE * expected, LEAST_PA)


def _flow(pump: int, work: Work | None, rpm: float | None) -> float:
    """The most that a pump can deliver, m³/s."""
    turning = rpm if rpm is not None and rpm > 0 else RATED_RPM
    if work is not None and pump in work.flow_m3s:
        return work.flow_m3s[pump]
    return DISPLACEMENT_M3 * turning / 60


def _hot(coach: Coach, limits: heat.StallLimits, wall: datetime, work: Work | None) -> str:
    """Why the next stall must wait, or ""."""
    oil = work.oil_c if work is not None else None
    return heat.refusal(limits, coach.stalls, wall, oil) or ""


def _cool(coach: Coach, limits: heat.StallLimits, wall: datetime, hot: str) -> Order:
    """Wait, with the seconds that are left counted down where it is only a matter of time."""
    if not coach.stalls:
        return Order(Kind.WAIT, tr("Wait"), hot)
    rested = (wall - coach.stalls[-1].at).total_seconds()
    full = heat.stored_s(limits, coach.stalls, wall) + limits.usual_s - limits.budget_s
    left = max(limits.rest_s - rested, full / limits.drain)
    if left <= 0:
        return Order(Kind.WAIT, tr("Wait"), hot)
    return Order(
        Kind.WAIT, tr("Rest"), tr("levers in neutral until the oil has cooled"), ceil(left)
    )
