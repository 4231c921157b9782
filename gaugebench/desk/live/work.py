"""What the worksheet wants done now, as the Live place needs it: the check, its gates. No Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Protocol

from gaugebench.desk.words import tr
from gaugebench.model.band import Band
from gaugebench.model.job import Hands, Phase
from gaugebench.model.role import Role
from gaugebench.model.sheet import Check
from gaugebench.model.terms import Lever, Measures
from gaugebench.procedure.heat import StallLimits
from gaugebench.procedure.prompt import prompt
from gaugebench.procedure.state import JobState
from gaugebench.quantity import Dimension, parse

READ_AT_ONCE = frozenset(
    {Measures.STEADY, Measures.RELIEF, Measures.CUT_OFF, Measures.SETTLED, Measures.CONTROL}
)
"""Figures that are a pressure or a speed which stands: Live can capture them."""
RATED_RPM = 2000.0
_LEVER = {
    Lever.NEUTRAL: "Levers in neutral",
    Lever.PART: "lever part way",
    Lever.FULL: "lever fully over",
    Lever.FEATHER: "feather the lever in over 2 to 4 s",
}


@dataclass(frozen=True, slots=True)
class Work:
    """The open job at this moment.

    check: the one chosen in the worksheet, None where none is left. refusals: why it cannot begin
    now. flow_m3s: what each pump may deliver at rated speed, for the heat of a stall. oil_c: of
    the conditions card.
    """

    hands: Hands
    phase: Phase
    check: Check | None = None
    refusals: tuple[str, ...] = ()
    limits: StallLimits = field(default_factory=StallLimits)
    flow_m3s: Mapping[int, float] = field(default_factory=dict)
    oil_c: float | None = None

    @property
    def role(self) -> Role | None:
        """What the check measures."""
        return self.check.role if self.check is not None else None

    @property
    def band(self) -> Band | None:
        """The check's limits."""
        return self.check.limits if self.check is not None else None

    @property
    def loads(self) -> bool:
        """Whether the check drives a function against its stop."""
        return self.check is not None and self.check.loads

    def order(self) -> tuple[str, str]:
        """What the operator does with which lever: the function, and how."""
        check = self.check
        if check is None:
            return "", ""
        parts = [tr(_LEVER[check.lever]), check.stop]
        return check.function or "", ", ".join(p for p in parts if p)


class Job(Protocol):
    """What Live asks of the worksheet's job; `desk.worksheet.jobdesk.JobDesk` is one."""

    @property
    def now(self) -> Callable[[], datetime]:
        """Wall time."""

    @property
    def following(self) -> bool:
        """Whether a trace is being gone through, so that nothing is taken meanwhile."""

    def may(self, kind: str, **fields: Any) -> str | None:
        """Why an event could not be taken now, or None."""

    def do(self, kind: str, **fields: Any) -> bool:
        """Take an event. Whether it was taken."""


def work_of(state: JobState, now: datetime, chosen: str | None) -> Work:
    """The job at this moment. chosen: the key of the check that the worksheet stands at."""
    told = prompt(state, chosen, now) if chosen else None
    sheet = state.sheet
    rated = sheet.machine.rated_speed
    rpm = parse(rated, Dimension.SPEED) if rated else RATED_RPM
    flows = {
        pump.number: parse(pump.displacement, Dimension.VOLUME) * pump.drive_ratio * rpm / 60
        for pump in sheet.pump
        if pump.displacement
    }
    return Work(
        hands=state.hands,
        phase=state.phase,
        check=told.check if told else None,
        refusals=told.refusals if told else (),
        limits=StallLimits.of(sheet.stall),
        flow_m3s=flows,
        oil_c=state.conditions.oil_c,
    )
