"""The hook-up as it stands: the kit, what it reads, and what each step found. No Qt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING

from gaugebench.desk.hookup import calibration, ranges, release, swapped
from gaugebench.desk.hookup.draft import Draft, Place
from gaugebench.desk.hookup.levers import Answer, Lever, LeverTest, Stage
from gaugebench.desk.hookup.portcheck import PortCheck, check_ports
from gaugebench.desk.hookup.ranges import RangeCheck
from gaugebench.desk.hookup.rest import REST_S, Rest, Spot, at_rest, spots, zero_of, zero_record
from gaugebench.desk.hookup.swapped import Outcome
from gaugebench.desk.hookup.visit import Moment, Visit, ZeroTaken
from gaugebench.desk.live.feed import Feed
from gaugebench.desk.shown import Shown
from gaugebench.model.channel import Channel
from gaugebench.model.role import Port
from gaugebench.quantity import Dimension

if TYPE_CHECKING:
    from gaugebench.model.kit import Kit

LEVER_S = 0.4
"""Levels under a lever are means of so long."""
SETTLED_S = REST_S + 1.0
"""Zeros are read no sooner than this after the kit was opened."""


class Workbench:
    """Everything that the place shows. Times: the feed's clock where a kit is open."""

    def __init__(self) -> None:
        self.draft = Draft()
        self.visit = Visit()
        self.feed: Feed | None = None
        self.checks: tuple[RangeCheck, ...] = ()
        self.dates: tuple[str, ...] = ()
        """What is to be said of each calibration date, empty where nothing is."""
        self.zero_words: dict[int, str] = {}
        self.ports: PortCheck | None = None
        self.test = LeverTest()
        self.answers: list[Answer] = []
        self.found: release.Release | None = None
        self._where: list[Spot | None] = []
        self._seen = release.Seen(0)
        self._zero_due = False
        self._zeroed_through: Feed | None = None
        """The kit as it was open when its zeros were taken, and so without them."""

    def use(self, kit: Kit) -> None:
        """Another kit, and so another visit."""
        self.draft = Draft.of(kit)
        self.visit = Visit()
        self.zero_words = {}
        self._zero_due = False
        self._forget()

    def attach(self, feed: Feed | None) -> None:
        """A kit was opened, or closed; what its ports did is learned anew."""
        self.feed = feed
        self._forget()
        if feed is None:
            self._where = []
        elif feed.kit is not None:
            self._where = spots(feed.kit, feed.streams)
        else:
            self._where = [
                Spot(n, column)
                for n, stream in enumerate(feed.streams)
                for column in range(len(stream.channels))
            ]
        self._seen = release.Seen(len(self._where))

    @property
    def placed(self) -> list[tuple[Place, Channel]]:
        """Every channel of the draft that can be understood, in the order of the table."""
        return self.draft.placed()

    @property
    def is_changed(self) -> bool:
        """Whether the kit was changed since it was opened."""
        feed = self.feed
        return feed is not None and feed.kit is not None and feed.kit != self.draft.kit

    def check_ranges(self, highest_pa: float | None, shown: Shown) -> tuple[RangeCheck, ...]:
        """Whether each transducer may be fitted."""
        self.checks = tuple(
            ranges.check(channel, self.draft.stated(place, highest_pa), shown)
            for place, channel in self.placed
        )
        return self.checks

    def check_dates(self, today: date, months: int) -> tuple[str, bool]:
        """How old the calibrations are, and whether one is older than `months`."""
        channels = [c for _, c in self.placed]
        self.dates = tuple(calibration.warning(c, today, months) for c in channels)
        return calibration.in_words(channels, today, months)

    def rests(self) -> list[Rest]:
        """What each channel reads now; empty where no kit is open."""
        if self.feed is None:
            return []
        self._watch(self.feed)
        found = at_rest(self.feed, self._where)
        return found + [Rest()] * (len(self.placed) - len(found))

    def take_zeros(self, shown: Shown, now: datetime) -> bool:
        """Take the zero of every pressure at rest near zero; whether the kit was changed by it.

        What was done is in `zero_words`. The zeros count once the kit is opened anew.
        """
        taken = False
        for row, ((place, channel), rest) in enumerate(
            zip(self.placed, self.rests(), strict=False)
        ):
            zero, self.zero_words[row] = zero_of(channel, rest, shown)
            if zero is not None:
                self.draft.set(place, "zero", f"{zero / 1e5:.4f} bar")
                self.draft.set(place, "zeroed", zero_record(rest, shown, now))
                taken = True
        self._zero_due, self._zeroed_through = taken, self.feed
        return taken

    def check_taken_zeros(self, now: datetime) -> tuple[ZeroTaken, ...]:
        """Once the kit that was opened with new zeros has settled: read them, and keep them."""
        feed = self.feed
        if not self._zero_due or feed is None or feed is self._zeroed_through:
            return ()
        if feed.now_s() < SETTLED_S:
            return ()
        self._zero_due = False
        return self.read_zeros("before", now)

    def read_zeros(self, moment: Moment, now: datetime) -> tuple[ZeroTaken, ...]:
        """Keep what every pressure reads now, with no pressure on it by the person's word."""
        rows = [(str(self.draft.channel(p)["input"]), c) for p, c in self.placed]
        return self.visit.check_zeros(rows, self.rests()[: len(rows)], moment, now)

    def check_ports(self, shown: Shown, now: datetime) -> PortCheck:
        """The wrong-port check, kept for the job."""
        channels = [c for _, c in self.placed]
        self.ports = check_ports(channels, self.rests()[: len(channels)], shown)
        words = "passed" if self.ports.passed else "not passed"
        self.visit.note("wrong ports", f"Wrong-port check at low idle in neutral: {words}.", now)
        return self.ports

    def begin_lever(self, lever: Lever) -> None:
        """Watch for a lever."""
        if self.feed is not None:
            self.test.begin(lever, self.feed.now_s())

    def stop_lever(self) -> None:
        """Give the lever up."""
        self.test.stop()

    def see_lever(self) -> bool:
        """Look where the lever test stands; whether an answer came."""
        feed = self.feed
        if feed is None or self.test.stage in {Stage.IDLE, Stage.DONE}:
            return False
        levels = {
            channel.role: rest.mean
            for (_, channel), rest in zip(
                self.placed, at_rest(feed, self._where, LEVER_S), strict=False
            )
            if channel.role is not None and channel.dimension is Dimension.PRESSURE
        }
        if self.test.see(levels, feed.now_s()) is not Stage.DONE or self.test.answer is None:
            return False
        self.answers.append(self.test.answer)
        return True

    def outcome(self, now: datetime) -> Outcome | None:
        """What the levers say together; None before the first."""
        if not self.answers:
            return None
        roles = [c.role for _, c in self.placed if c.role is not None]
        has_controls = any(r.port is Port.CONTROL for r in roles)
        found = swapped.conclude(self.answers, has_controls=has_controls)
        self.visit.note("levers", f"One lever at a time: {found.finding.value}.", now)
        return found

    def exchange(self, found: Outcome) -> bool:
        """Exchange the channels that sit on each other's port; whether the kit was changed."""
        is_changed = False
        for one, other in found.swaps:
            places = [self.draft.find_role(str(role)) for role in (one, other)]
            if places[0] is not None and places[1] is not None:
                self.draft.exchange(places[0], places[1])
                is_changed = True
        self.answers, self.ports = [], None
        return is_changed

    def read_release(self, shown: Shown) -> release.Release | None:
        """Whether every test port is near zero; None where no kit is open."""
        feed = self.feed
        if feed is None:
            self.found = None
            return None
        windows = [feed.window(n, release.FROZEN_S) for n in range(len(feed.streams))]
        ports: list[release.PortRelease | None] = []
        for row, (_, channel) in enumerate(self.placed):
            if channel.dimension is not Dimension.PRESSURE:
                ports.append(None)
                continue
            spot = self._where[row] if row < len(self._where) else None
            ports.append(
                release.look(
                    channel,
                    windows[spot.stream] if spot is not None else None,
                    spot.column if spot is not None else 0,
                    feed.now_s(),
                    self._seen.of(row) if spot is not None else -math.inf,
                    shown,
                )
            )
        self.found = release.conclude(ports)
        return self.found

    def _watch(self, feed: Feed) -> None:
        """Remember how high each channel has read."""
        windows = [feed.window(n, REST_S) for n in range(len(feed.streams))]
        for row, spot in enumerate(self._where):
            if spot is not None and len(windows[spot.stream].times):
                window = windows[spot.stream]
                self._seen.take(row, window.values[:, spot.column], window.quality[:, spot.column])

    def _forget(self) -> None:
        self.ports, self.found = None, None
        self.test, self.answers = LeverTest(), []


def newest_first(answers: Sequence[Answer], shown: Shown) -> list[str]:
    """The levers' answers in words, the newest first."""
    return [swapped.in_words(answer, shown) for answer in reversed(answers)]
