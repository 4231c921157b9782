"""What Live knows of the worksheet: the work at this moment, and the job that takes readings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Protocol

from gaugebench.desk.live.work import Job, Work, work_of

if TYPE_CHECKING:
    from gaugebench.desk.worksheet.place import WorksheetPlace

READ_AS = {
    "relief 1": "main-relief-1",
    "relief 2": "main-relief-2",
    "cut-off 1": "pump1-cut-off",
    "cut-off 2": "pump2-cut-off",
    "pilot high": "pilot-high",
    "pilot low": "pilot-low",
}
"""What an exercise asks for → the check of the invented sheet that reads it."""


class Link(Protocol):
    """The worksheet as Live sees it."""

    def work(self) -> Work | None:
        """The open job at this moment; None without one."""

    def job(self) -> Job | None:
        """Who takes readings; None without a job."""

    def readings(self) -> Mapping[str, float]:
        """The latest readings by what an exercise calls them, Pa."""


class NoWorksheet:
    """No job, and nothing that takes readings."""

    def work(self) -> Work | None:
        """None."""
        return None

    def job(self) -> Job | None:
        """None."""
        return None

    def readings(self) -> Mapping[str, float]:
        """None."""
        return {}


class WorksheetLink:
    """The Worksheet place's own job, at the check that is chosen there."""

    def __init__(self, place: WorksheetPlace) -> None:
        self._place = place

    def work(self) -> Work | None:
        """The open job at this moment; None without one, and once it is closed."""
        sheet = self._place.job.sheet
        if sheet is None or sheet.state.closed is not None:
            return None
        chosen = self._place.checks.chosen
        return work_of(sheet.state, self._place.job.now(), chosen.key if chosen else None)

    def job(self) -> Job | None:
        """The job, where one is open."""
        return self._place.job if self._place.job.sheet is not None else None

    def readings(self) -> Mapping[str, float]:
        """The latest reading of each check that an exercise asks for."""
        sheet = self._place.job.sheet
        if sheet is None:
            return {}
        found = {name: sheet.state.latest(key) for name, key in READ_AS.items()}
        return {name: reading.value.value for name, reading in found.items() if reading}
