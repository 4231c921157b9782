"""The job that is open: hands events to the worksheet, says what it refuses, tells who shows it.

Nothing is decided here. Whether an event may be taken is the worksheet's answer alone.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, Signal

from gaugebench.desk.units import Units
from gaugebench.desk.words import told, tr
from gaugebench.desk.work import Workers
from gaugebench.desk.worksheet import tracefiles
from gaugebench.errors import GaugebenchError, JobError
from gaugebench.model.figures import FigureSet
from gaugebench.model.job import EVENT, JobEvent, JobOpened
from gaugebench.model.trace import Trace
from gaugebench.procedure import follow
from gaugebench.procedure.view import Board, board
from gaugebench.procedure.worksheet import Worksheet


def _wall_time() -> datetime:
    return datetime.now(UTC).astimezone()


class JobDesk(QObject):
    """One job at a time, or none."""

    changed = Signal()
    """The job is another, or something was taken."""
    refused = Signal(object)
    """A sentence: why something could not be done."""

    def __init__(self, units: Units, workers: Workers) -> None:
        super().__init__()
        self.units, self.workers = units, workers
        self.sheet: Worksheet | None = None
        self.path: Path | None = None
        self.now: Callable[[], datetime] = _wall_time
        self.following = False
        """A trace is being gone through; nothing else is taken meanwhile."""

    def begin(self, opened: JobOpened, path: Path) -> bool:
        """Start a job in a file that is not there yet."""

        def make() -> Worksheet:
            tracefiles.make_folder(path.parent)
            return Worksheet.begin(opened, path)

        return self._open(make, path)

    def resume(self, path: Path) -> bool:
        """Go on with the job in a file; lines that could not be read are said."""
        return self._open(lambda: Worksheet.resume(path), path)

    def close(self) -> None:
        """Let go of the job's file; the job stays as it is and can be resumed."""
        if self.sheet is not None:
            self.sheet.close()
        self.sheet = self.path = None
        self.changed.emit()

    def board(self) -> Board | None:
        """The worksheet as it is shown now; None without a job."""
        if self.sheet is None:
            return None
        return board(self.sheet.state, self.now(), self.units.shown.pressure)

    def made_now(self, kind: str, **fields: Any) -> JobEvent:
        """An event of now."""
        return EVENT.validate_python({"kind": kind, "at": self.now(), **fields})

    def may(self, kind: str, **fields: Any) -> str | None:
        """Why an event could not be taken now, or None."""
        return self.sheet.may(self.made_now(kind, **fields)) if self.sheet else None

    def do(self, kind: str, **fields: Any) -> bool:
        """Take an event; what is refused is said. Whether it was taken."""
        return self.attempt(lambda sheet: sheet.take(self.made_now(kind, **fields)))

    def attempt(self, step: Callable[[Worksheet], object]) -> bool:
        """Do something with the worksheet; what is refused is said. Whether it was done."""
        if self.sheet is None:
            self.refused.emit(tr("No job is open; start or resume one first."))
            return False
        if self.is_busy():
            return False
        try:
            step(self.sheet)
        except GaugebenchError as fault:
            self.refused.emit(told(fault))
            return False
        self.changed.emit()
        return True

    def is_busy(self) -> bool:
        """Whether a trace is being gone through, which is then said."""
        if self.following:
            self.refused.emit(tr("A trace is being gone through; try again in a moment."))
        return self.following

    def accept(self, offer: str, check: str) -> bool:
        """Take a waiting offer for a check."""
        return self.attempt(lambda sheet: follow.accept(sheet, offer, check, self.now()))

    def drop(self, offer: str, why: str) -> bool:
        """Take an offer out of the queue."""
        return self.attempt(lambda sheet: follow.drop(sheet, offer, why, self.now()))

    def follow(
        self, trace: Trace, figures: FigureSet, path: Path, then: Callable[[follow.Followed], None]
    ) -> None:
        """Offer all that a trace shows, off this thread; its file is kept beside the job's."""
        sheet, job = self.sheet, self.path
        if sheet is None or job is None or self.following:
            self.attempt(lambda _: None)
            return
        self.following = True
        at = self.now()

        def work() -> follow.Followed:
            name = tracefiles.keep_beside(path, job.parent)
            known = {t.trace for t in sheet.state.traces}
            if name in known:
                raise JobError(tr("{name} was gone through already.", name=name))
            added = {"trace": name, "phase": sheet.state.phase}
            sheet.take(EVENT.validate_python({"kind": "trace added", "at": at, **added}))
            return follow.follow(sheet, figures, name, at, trace)

        def done(found: follow.Followed) -> None:
            self.following = False
            self.changed.emit()
            then(found)

        def failed(sentence: str) -> None:
            self.following = False
            self.changed.emit()
            self.refused.emit(sentence)

        self.workers.run(work, done, failed)

    def _open(self, make: Callable[[], Worksheet], path: Path) -> bool:
        if self.is_busy():
            return False
        try:
            made = make()
        except GaugebenchError as fault:
            self.refused.emit(told(fault))
            return False
        if self.sheet is not None:
            self.sheet.close()
        self.sheet, self.path = made, path
        self.changed.emit()
        if made.faults:
            self.refused.emit(" ".join(made.faults))
        return True
