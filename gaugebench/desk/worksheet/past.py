"""History: find a machine, see each check over its hours and each transducer's zero over days."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import date
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSplitter, QVBoxLayout, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.shown import ABSENT
from gaugebench.desk.theme import Theme
from gaugebench.desk.words import tr
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.parts import Grid, Pane, heading, line, words
from gaugebench.desk.worksheet.trendchart import TrendChart
from gaugebench.desk.worksheet.trends import Trend, trends
from gaugebench.procedure import history
from gaugebench.procedure.pastjobs import Kept, kept_in
from gaugebench.procedure.view import Board


class HistoryPane(Pane):
    """Reads the jobs that are kept when it comes into sight; it needs no job to be open."""

    def __init__(self, job: JobDesk, theme: Theme, folder: Callable[[], Path]) -> None:
        super().__init__(job)
        self.folder = folder
        self.kept = Kept((), ())
        self.machines: tuple[history.Machine, ...] = ()
        self.trends: tuple[Trend, ...] = ()
        self.is_reading = False
        self._ended = threading.Event()
        self._read_from: Path | None = None
        self.wanted = line(
            tr("Find: parts of serial, customer, machine, site or job"),
            tr("Serial, customer, machine, site"),
        )
        self.since = line(tr("From this day on: year-month-day"), "2026-01-31")
        self.until = line(tr("Until this day: year-month-day"), "2026-12-31")
        self.again_button = button(tr("Read anew"), tr("Read the jobs in the folder again"))
        self.found = Grid(
            tr("Machines"), (tr("Machine"), tr("Serial number"), tr("Jobs"), tr("Last")), (0, 1)
        )
        self.list = Grid(tr("Checks and zeros"), (tr("What is checked"), tr("Newest")), (0, 1))
        self.chart = TrendChart(theme)
        self.chart.setAccessibleName(tr("Readings over hours or days"))
        self.key = QLabel(tr("○ as found, before   ■ as left, after   × out of its band"))
        self.told = words()
        heads = (tr("Date"), tr("Hour meter"), tr("When"), tr("Reading"), tr("Verdict"))
        self.table = Grid(tr("Readings"), heads, (2, 3, 4))
        self._lay_out()
        for each in (self.wanted, self.since, self.until):
            each.editingFinished.connect(self.look_up)
        self.again_button.clicked.connect(self.read)
        self.found.currentCellChanged.connect(lambda *_: self._show_machine())
        self.list.currentCellChanged.connect(lambda *_: self._show_trend())
        job.units.changed.connect(self._show_machine)

    def show_board(self, board: Board | None) -> None:
        """Nothing of the open job alone."""

    def read(self) -> None:
        """Read every job in the folder and below it, off this thread."""
        if self.is_reading:
            return
        self.is_reading = True
        self._ended.clear()
        folder = self._read_from = self.folder()
        self.told.setText(tr("The jobs in {folder} are being read …", folder=folder))

        def work() -> Kept:
            return kept_in(folder, lambda: not self._ended.is_set())

        self.job.workers.run(work, self._done, self._failed, is_aside=True)

    def look_up(self) -> None:
        """Show the machines whose jobs fit what is typed."""
        days = []
        for each in (self.since, self.until):
            text = each.text().strip()
            try:
                days.append(date.fromisoformat(text) if text else None)
            except ValueError:
                self.told.setText(
                    tr("“{text}” is no day; write for example 2026-01-31.", text=text)
                )
                return
        jobs = history.find(self.kept.jobs, words=self.wanted.text(), since=days[0], until=days[1])
        self.machines = history.machines(jobs)
        self.found.show_rows(
            [
                (_name(m), m.serial or ABSENT, str(len(m.jobs)), f"{m.jobs[-1].opened.at:%Y-%m-%d}")
                for m in self.machines
            ]
        )
        lines = [tr("{jobs} jobs of {machines} machines.", jobs=len(jobs),
                    machines=len(self.machines))]  # fmt: skip
        lines += [tr("Not read: {what}", what=sentence) for sentence in self.kept.left_out]
        if not self.kept.jobs:
            lines.append(tr("Begin a job in the first tab: it is found here from then on."))
        self.told.setText("\n".join(lines))
        self._show_machine()

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        """Jobs may have been added since."""
        super().showEvent(event)
        self.read()

    def hideEvent(self, event: QHideEvent) -> None:  # noqa: N802 - Qt's name
        """Nobody waits for them any more."""
        self._ended.set()
        super().hideEvent(event)

    def _done(self, kept: Kept) -> None:
        self.is_reading = False
        if not self._ended.is_set():
            self.kept = kept
            self.look_up()

    def _failed(self, sentence: str) -> None:
        self.is_reading = False
        self.told.setText(sentence)

    def _show_machine(self) -> None:
        row = self.found.currentRow()
        self.trends = ()
        if 0 <= row < len(self.machines):
            self.trends = trends(self.machines[row].jobs, self.job.units.shown)
        self.list.show_rows([(t.title, t.newest) for t in self.trends])
        self._show_trend()

    def _show_trend(self) -> None:
        row = self.list.currentRow()
        trend = self.trends[row] if 0 <= row < len(self.trends) else None
        self.chart.show_trend(trend, self.job.units.shown)
        self.key.setVisible(trend is not None)
        self.table.show_rows(list(trend.rows) if trend is not None else [])
        text = _in_words(trend) if trend is not None else ""
        found = self.found.currentRow()
        if trend is not None and self.machines[found].simulated:
            text = f"{tr('SIMULATED')}: {text}"
        self.chart.setAccessibleDescription(text)
        self.band.setText(text)

    def _lay_out(self) -> None:
        self.band = words()
        find = QHBoxLayout()
        find.addWidget(self.wanted, 2)
        for title, each in ((tr("from"), self.since), (tr("until"), self.until)):
            find.addWidget(QLabel(title))
            find.addWidget(each, 1)
        find.addWidget(self.again_button)
        left, right = QWidget(), QWidget()
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(heading(tr("Machines")))
        column.addWidget(self.found, 1)
        column.addWidget(heading(tr("Checks and zeros")))
        column.addWidget(self.list, 2)
        column = QVBoxLayout(right)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.band)
        column.addWidget(self.chart, 2)
        column.addWidget(self.key)
        column.addWidget(self.table, 1)
        split = QSplitter(Qt.Orientation.Horizontal)
        split.addWidget(left)
        split.addWidget(right)
        split.setStretchFactor(1, 1)
        split.setSizes([560, 1000])
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addLayout(find)
        whole.addWidget(split, 1)
        whole.addWidget(self.told)


def _name(machine: history.Machine) -> str:
    return f"{tr('SIMULATED')}: {machine.name}" if machine.simulated else machine.name


def _in_words(trend: Trend) -> str:
    parts = [trend.title]
    if trend.band:
        parts.append(tr("band {band}", band=trend.band))
    if trend.unplaced:
        parts.append(
            tr("{count} reading(s) without an hour meter are in the table alone",
               count=trend.unplaced)
        )  # fmt: skip
    return "; ".join(parts)
