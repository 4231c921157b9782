"""The Worksheet place: the job from its machine sheet to the report, one pane for each part."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QFileDialog, QTabWidget, QVBoxLayout, QWidget

from gaugebench.desk.memory import Memory
from gaugebench.desk.notice import Notice
from gaugebench.desk.theme import LIGHT, THEMES
from gaugebench.desk.units import Units
from gaugebench.desk.words import told, tr
from gaugebench.desk.work import Workers
from gaugebench.desk.worksheet import tracefiles
from gaugebench.desk.worksheet.altering import AlteringPane
from gaugebench.desk.worksheet.beside import BesidePane
from gaugebench.desk.worksheet.cardform import CardPane
from gaugebench.desk.worksheet.checks import ChecksPane
from gaugebench.desk.worksheet.ending import EndingPane
from gaugebench.desk.worksheet.faults import FaultsPane
from gaugebench.desk.worksheet.hookedup import HookedUp
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.jobform import JobForm
from gaugebench.desk.worksheet.moving import MovingPane
from gaugebench.desk.worksheet.parts import Scrolled
from gaugebench.desk.worksheet.past import HistoryPane
from gaugebench.desk.worksheet.queue import QueuePane
from gaugebench.desk.worksheet.status import StatusBar
from gaugebench.desk.worksheet.turning import TurningPane
from gaugebench.errors import GaugebenchError
from gaugebench.model.job import JobOpened
from gaugebench.model.trace import Particulars
from gaugebench.procedure import sheet as sheets

if TYPE_CHECKING:
    from gaugebench.desk.review.opened import Opened

TICK_MS = 1000
"""How often the time until the next stall is renewed."""


class WorksheetPlace(QWidget):
    """Shows what the worksheet says and hands on what is pressed; it decides nothing itself."""

    changed = Signal(object)
    """The `Particulars` as they stand."""
    open_asked = Signal(Path)
    job_changed = Signal()

    def __init__(self, memory: Memory, units: Units, workers: Workers) -> None:
        super().__init__()
        self.memory = memory
        self.in_review: Callable[[], Opened | None] = lambda: None
        self.notice = Notice()
        self.job = JobDesk(units, workers)
        self.hooked_up = HookedUp(self.job)
        self.form = JobForm(memory)
        self.lines, self.notes, self.list = self.form.lines, self.form.notes, self.form.list
        self.open_button, self.new_button = self.form.open_button, self.form.new_button
        self.status = StatusBar(self.job)
        self.card = CardPane(self.job)
        self.checks = ChecksPane(self.job)
        self.queue = QueuePane(self.job)
        self.moving = MovingPane(self.job)
        self.moving.times.in_review = self._in_review
        self.altering = AlteringPane(self.job)
        self.turning = TurningPane(self.job)
        self.faults = FaultsPane(self.job)
        self.beside = BesidePane(self.job)
        self.ending = EndingPane(self.job)
        theme = THEMES.get(memory.text("theme", LIGHT.key), LIGHT)
        self.past = HistoryPane(self.job, theme, lambda: self.folder)
        self.panes = QTabWidget()
        self.panes.setAccessibleName(tr("Parts of the worksheet"))
        self.panes.tabBar().setProperty("narrow", True)  # noqa: FBT003 - Qt takes it so
        for pane, title in (
            (self.form, tr("Job")), (self.card, tr("Conditions")), (self.checks, tr("Checks")),
            (self.queue, tr("Queue")), (self.moving, tr("Moving")),
            (self.altering, tr("Altered")), (self.turning, tr("Screws")),
            (self.faults, tr("Fault")), (self.beside, tr("Before and after")),
            (self.ending, tr("Closing")), (self.past, tr("History")),
        ):  # fmt: skip
            # A short screen scrolls; tables scroll by themselves.
            is_whole = pane in (self.checks, self.queue, self.moving, self.beside, self.past)
            self.panes.addTab(pane if is_whole else Scrolled(pane, title), title)
        column = QVBoxLayout(self)
        column.addWidget(self.notice)
        column.addWidget(self.status)
        column.addWidget(self.panes, 1)
        self._timer = QTimer(self)
        self._timer.setInterval(TICK_MS)
        self._timer.timeout.connect(self._tick)
        self._connect()
        self.renew()

    @property
    def particulars(self) -> Particulars:
        """What is typed; where the hour meter is no number it is left out."""
        return self.form.particulars

    @property
    def is_simulated(self) -> bool:
        """Whether the job that is open is one of practice."""
        return self.job.sheet is not None and self.job.sheet.state.opened.simulated

    @property
    def folder(self) -> Path:
        """Where jobs and records go."""
        return Path(self.memory.text("folder", str(Path.home() / "Gaugebench")))

    def add_trace(self, path: Path) -> None:
        """A record was made."""
        self.form.add_trace(path)

    def clear(self) -> None:
        """Another job: the technician stays."""
        if not self.job.is_busy():
            self.job.close()
            self.form.clear()

    def begin(self, sheet: Path | None) -> bool:
        """Start a job on a machine sheet, or on the invented machine's. Whether it was started."""
        try:
            data = sheets.load(sheet) if sheet else sheets.invented_data()
        except GaugebenchError as fault:
            self.notice.say(told(fault))
            return False
        machine = data["machine"]["name"]
        typed, at = self.particulars, self.job.now()
        named = {
            k: v for k in ("serial", "site", "technician", "customer") if (v := getattr(typed, k))
        }
        opened = JobOpened(
            at=at,
            job=typed.job or machine,
            machine=typed.machine or machine,
            hour_meter_h=typed.hour_meter_h,
            rebuilt=self.form.rebuilt.isChecked(),
            simulated=bool(data.get("invented", False)),
            sheet=data,
            **named,
        )
        words = " ".join((typed.job or machine, typed.serial))
        if not self.job.begin(opened, tracefiles.job_path(self.folder, words, at)):
            return False
        self.form.clear_traces()
        self.panes.setCurrentWidget(self.checks)
        return True

    def resume(self, path: Path) -> bool:
        """Go on with a job from its file. Whether it was opened."""
        if not self.job.resume(path) or self.job.sheet is None:
            return False
        opened = self.job.sheet.state.opened
        kept = Particulars(
            **{key: getattr(opened, key) for key in self.form.lines}, notes=self.notes.toPlainText()
        )
        self.form.fill(kept)
        self.form.clear_traces()
        for added in self.job.sheet.state.traces:
            self.form.add_trace(path.parent / added.trace)
        self.panes.setCurrentWidget(self.checks)
        return True

    def trace_opened(self, opened: Opened) -> None:
        """A trace stands in Review: one that was just recorded is gone through by itself."""
        if self.job.sheet is None or opened.path not in self.form.traces:
            return
        known = {added.trace for added in self.job.sheet.state.traces}
        if opened.path.name not in known and not self.job.following:
            self._follow(opened)

    def renew(self) -> None:
        """Show the job as it stands."""
        board = self.job.board()
        for pane in (
            self.status, self.card, self.checks, self.queue, self.moving, self.altering,
            self.turning, self.faults, self.beside, self.ending,
        ):  # fmt: skip
            pane.show_board(board)
        self._count(self.queue, tr("Queue"), len(board.queue) if board else 0)
        self._count(self.altering, tr("Altered"), self.altering.open_count)
        path = self.job.path
        self.form.standing.setText(
            tr("The job is kept in {path}", path=path) if path else tr("No job is open.")
        )

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        """Time runs while it is in sight."""
        super().showEvent(event)
        self._timer.start()

    def hideEvent(self, event: QHideEvent) -> None:  # noqa: N802 - Qt's name
        """Nothing is renewed out of sight."""
        self._timer.stop()
        super().hideEvent(event)

    def _in_review(self) -> Opened | None:
        return self.in_review()  # the window says where that is once the place is made

    def _count(self, pane: QWidget, title: str, count: int) -> None:
        """Say on a pane's tab how much waits there."""
        whole = tr("{title} ({count})", title=title, count=count) if count else title
        for index in range(self.panes.count()):
            shown = self.panes.widget(index)
            if shown is pane or (isinstance(shown, Scrolled) and shown.widget() is pane):
                self.panes.setTabText(index, whole)

    def _lead_to(self, key: str) -> None:
        if self.job.sheet is not None:
            self.panes.setCurrentWidget(self.moving)
            self.moving.choose(self.job.sheet.state.check(key))

    def _tick(self) -> None:
        if self.job.sheet is not None and self.job.sheet.state.stalls:
            board = self.job.board()
            self.status.show_board(board)
            self.checks.show_board(board)

    def _take(self) -> None:
        opened = self.in_review()
        if opened is None or opened.path is None:
            self.notice.say(tr("Open the trace in Review first; then take it here."))
            return
        self._follow(opened)

    def _follow(self, opened: Opened) -> None:
        if opened.path is not None:
            path = opened.path
            self.job.follow(opened.trace, opened.figures, path, self.queue.followed)
            self.form.add_trace(path)
            self.queue.show_board(self.job.board())

    def _ask_sheet(self) -> None:
        self._ask(tr("Choose a machine sheet"), tr("Machine sheets") + " (*.toml)", self.begin)

    def _ask_job(self) -> None:
        self._ask(tr("Choose a job"), tr("Jobs") + " (*.jsonl)", self.resume)

    def _ask(self, title: str, kinds: str, then: Callable[[Path], Any]) -> None:
        chosen, _ = QFileDialog.getOpenFileName(self, title, str(self.folder), kinds)
        if chosen:
            then(Path(chosen))

    def _connect(self) -> None:
        self.form.typed.connect(lambda: self.changed.emit(self.particulars))
        self.form.open_asked.connect(self.open_asked)
        self.form.trouble.connect(self._trouble)
        self.form.new_button.clicked.connect(self.clear)
        self.form.begin_button.clicked.connect(self._ask_sheet)
        self.form.practise_button.clicked.connect(lambda: self.begin(None))
        self.form.resume_button.clicked.connect(self._ask_job)
        self.job.changed.connect(self.notice.clear)
        self.job.changed.connect(self.renew)
        self.job.changed.connect(self.job_changed)
        self.job.refused.connect(self.notice.say)
        self.job.units.changed.connect(self.renew)
        self.queue.take_asked.connect(self._take)
        self.checks.form_asked.connect(self._lead_to)
        self.panes.currentChanged.connect(lambda _: self.moving.times.look())

    def _trouble(self, sentence: str) -> None:
        if sentence:
            self.notice.say(sentence)
        else:
            self.notice.clear()
