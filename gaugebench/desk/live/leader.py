"""Leads through a hold: asks the worksheet, steps the coach, and shows its orders everywhere."""

from __future__ import annotations

import math
from datetime import UTC, datetime

from gaugebench.desk.live.capture import Captured, capture
from gaugebench.desk.live.coach import Coach, Kind, Order
from gaugebench.desk.live.coachbar import CoachBar
from gaugebench.desk.live.feed import Feed
from gaugebench.desk.live.huge import HugePane
from gaugebench.desk.live.link import Link, NoWorksheet
from gaugebench.desk.live.orders import OperatorWindow
from gaugebench.desk.live.readings import Reading
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Theme
from gaugebench.model.job import Phase
from gaugebench.model.role import Port
from gaugebench.procedure.heat import StallLimits


class Leader:
    """Not a widget: holds the strip, the huge number and the operator's window together."""

    def __init__(self, theme: Theme) -> None:
        self.link: Link = NoWorksheet()
        self.bar = CoachBar()
        self.huge = HugePane(theme)
        self.window = OperatorWindow(theme)
        self.coach = Coach()
        self.order = Order(Kind.REST)
        self.work = self.link.work()

    def begin(self, readings: list[Reading]) -> None:
        """Another kit: nothing was held yet."""
        self.coach = Coach()
        self.order = Order(Kind.REST)
        self.huge.show_readings(readings)
        self.ask()

    def take_over(self, old: Leader) -> None:
        """Go on counting where another stood."""
        self.coach, self.order = old.coach, old.order
        self.bar.say.setText(old.bar.say.text())
        self.ask()

    def ask(self) -> None:
        """Look at the worksheet anew; first put into its heat budget what was held."""
        self._hand_over()
        self.work = self.link.work()
        self.bar.show_work(self.work)
        self.huge.follow(self.work)

    def step(self, feed: Feed, readings: list[Reading]) -> None:
        """One frame: every frame, so that no count is late."""
        roles = [(r.channel.role, r.value) for r in readings]
        mains = {
            role.pump: value
            for role, value in roles
            if role is not None and role.port is Port.MAIN and role.pump is not None
        }
        rpm = next((v for role, v in roles if role is not None and role.name == "engine.speed"), 0)
        self.order = self.coach.step(
            feed.now_s(), self._wall(), mains, feed.stall, self.work,
            rpm if math.isfinite(rpm) else None,
        )  # fmt: skip

    def _hand_over(self) -> None:
        """Put the holds that ended into the job, recorded or not; they wait while it is busy."""
        job, owed = self.link.job(), self.coach.owed
        if job is None or self.link.work() is None:
            owed.clear()
        while owed and job is not None and not job.following:
            job.do("stall ended", **owed.pop(0).model_dump(exclude={"kind"}))

    def show(self, shown: Shown) -> None:
        """Say what stands, several times a second."""
        coach, work = self.coach, self.work
        limits = work.limits if work is not None else StallLimits()
        stored = coach.stored_s(work, self._wall())
        self.bar.show_order(self.order, coach.over_s, stored, coach.joules, limits.budget_s)
        self.huge.renew(shown)
        reading, band = self.huge.reading, self.huge.number.band
        self.window.renew(self.order, self.bar.say.text().strip(), reading, band, shown)

    def capture(self, feed: Feed, phase: Phase, shown: Shown) -> Captured:
        """Read the check that waits, or all pressures where none does."""
        self.ask()
        found = capture(feed, phase, shown, self.work, self.link.job())
        self.ask()
        return found

    def phase(self) -> Phase:
        """The job's phase; as found without a job."""
        return self.work.phase if self.work is not None else Phase.AS_FOUND

    def _wall(self) -> datetime:
        job = self.link.job()
        return job.now() if job is not None else datetime.now(UTC).astimezone()
