"""Hands what was done in Hook-up to the job: kit, fittings, zeros, cautions, wrong-port check."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.model.job import JobEvent, KitUsed
from gaugebench.procedure import kit as kits

if TYPE_CHECKING:
    from gaugebench.model.kit import Kit


class HookedUp:
    """Every matter goes into one job only: the one that was open, or was opened next.

    Another job after it may be another machine, whose ports nobody has looked at.
    """

    def __init__(self, job: JobDesk) -> None:
        self.job = job
        self.kit_now: Callable[[], Kit | None] = lambda: None
        """The kit that is open."""
        self.done: Callable[[], tuple[JobEvent, ...]] = tuple
        """All that was done in Hook-up with it, in order of time."""
        self._handed: list[JobEvent] = []
        job.changed.connect(self.hand_over)

    def take_over(self, old: HookedUp) -> None:
        """Know what another has handed over already."""
        self._handed = list(old._handed)

    def hand_over(self) -> None:
        """Enter what the open job lacks; without a job, or while it is busy, it waits."""
        sheet = self.job.sheet
        if sheet is None or sheet.state.closed is not None or self.job.following:
            return
        events = [*self._kit(sheet.state.kit), *self._done(sheet.events)]
        self._handed += [e for e in events if not isinstance(e, KitUsed)]
        if events:
            self.job.attempt(lambda sheet: sheet.take(*events))

    def _done(self, known: list[JobEvent]) -> list[JobEvent]:
        return [e for e in self.done() if e not in self._handed and e not in known]

    def _kit(self, known: tuple[KitUsed, ...]) -> list[KitUsed]:
        """Each transducer of the open kit that the job knows otherwise, or not at all."""
        kit = self.kit_now()
        if kit is None:
            return []
        told = {k.role: _plain(k) for k in known}
        return [k for k in kits.used(kit, self.job.now()) if told.get(k.role) != _plain(k)]


def _plain(used: KitUsed) -> dict[str, str]:
    """What is stated of a transducer, but for the time."""
    return used.model_dump(exclude={"at"})
