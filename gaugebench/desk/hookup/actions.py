"""What is done when something of the place is pressed."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from gaugebench.desk.hookup.ranges import known_pressure
from gaugebench.desk.words import told, tr
from gaugebench.errors import KitError, SourceError, UnitError
from gaugebench.quantity import Dimension, parse

if TYPE_CHECKING:
    from gaugebench.desk.hookup.place import HookupPlace
    from gaugebench.procedure.rules import Step


def wall_time() -> datetime:
    """Now, with its zone."""
    return datetime.now(UTC).astimezone()


class Actions:
    """The deeds of one place; what they find is in its bench."""

    def __init__(self, place: HookupPlace) -> None:
        self.place = place
        self.pages, self.bench, self.units = place.pages, place.bench, place.units

    def take_zeros(self) -> None:
        """Take the zeros of all that is at rest, and have the kit opened anew with them."""
        feed = self.place.feed
        if feed is None or feed.record_state is not None:
            self.pages.notice.say(tr("Stop the record before taking zeros."))
            return
        taken = self.bench.take_zeros(self.units.shown, wall_time())
        self.place.renew()
        if taken and self.place.draft.kit is not None:
            # Opened anew, so that the zeros count.
            self.place.connect_asked.emit(self.place.draft.kit)

    def check_known(self) -> None:
        """Compare the chosen port with a pressure that is known."""
        row, rests = self.pages.table.currentRow(), self.bench.rests()
        if not 0 <= row < len(rests):
            self.pages.notice.say(tr("Choose a port in the table first."))
            return
        try:
            known = parse(self.pages.connecting.known.text(), Dimension.PRESSURE)
        except UnitError as fault:
            self.pages.notice.say(told(fault))
            return
        words = known_pressure(rests[row].mean, known, self.units.shown)
        self.pages.connecting.known_said.setText(words)

    def check_ports(self) -> None:
        """The wrong-port check."""
        if self.place.feed is not None:
            now = wall_time()
            found = self.bench.check_ports(self.units.shown, now)
            self.place.visit.checked_ports(now, are_right=found.passed)
            self.place.renew()

    def exchange(self) -> None:
        """Exchange channels in the kit that sit on each other's port."""
        found = self.bench.outcome(wall_time())
        if found is not None and self.bench.exchange(found):
            self.place.visit.checked_ports(wall_time(), are_right=False)
            self.place.renew()
            self.place.ask_connect()

    def save(self, path: Path | None) -> None:
        """Save the kit: to `path`, to its own file, or to one named after it."""
        self.place.renew()
        kit = self.place.draft.kit
        if kit is None:
            self.pages.notice.say(self.place.draft.fault)
            return
        try:
            self.place.path = self.place.shelf.save(kit, path or self.place.path)
        except KitError as fault:
            self.pages.notice.say(told(fault))
            return
        self.pages.notice.clear()
        self.pages.kit.renew()

    def use_port(self, source: str, port: str) -> None:
        """A lost source is on this port now."""
        if self.place.feed is None:
            return
        try:
            self.place.feed.use_port(source, port)
        except SourceError as fault:
            self.pages.notice.say(told(fault))

    def ticked(self, step: Step) -> None:
        """A step was done."""
        self.place.visit.saw(step.do, wall_time())

    def proved_otherwise(self, is_on: bool) -> None:
        """Ports that the kit could not prove were proved in another way."""
        if is_on:
            text = "Release: ports that the kit could not prove were proved with a gauge."
            self.place.visit.note("release", text, wall_time())

    def read_after(self) -> None:
        """Read the zeros after the work."""
        self.bench.read_zeros("after", wall_time())
        self.pages.show_zeros(self.place.visit.zeros.values(), self.units.shown)
