"""Cycle times: three repeats by hand or from a trace, mean and spread, merge and regeneration."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtWidgets import (
    QCheckBox,
    QLabel,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.buttons import button
from gaugebench.desk.words import said, told, tr
from gaugebench.desk.worksheet.entries import optional, reading
from gaugebench.desk.worksheet.formparts import beside, choice, halves, rows
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.parts import Pane, Scrolled, bulleted, heading, line, words
from gaugebench.desk.worksheet.struck import Entries
from gaugebench.desk.worksheet.timed import Timed, of_trace, result_lines
from gaugebench.errors import UnitError
from gaugebench.model.job import CycleTimed
from gaugebench.model.sheet import Check
from gaugebench.model.terms import Measures
from gaugebench.procedure import cycles, merging
from gaugebench.procedure.view import Board
from gaugebench.procedure.words import number
from gaugebench.quantity import Dimension, show

if TYPE_CHECKING:
    from gaugebench.desk.review.opened import Opened


class TimesForm(Pane):
    """One repeat at a time; the mean becomes the reading only when that is pressed."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__(job)
        self.in_review: Callable[[], Opened | None] = lambda: None
        self.check = choice(tr("Function that is timed"))
        self.merge = choice(tr("Merge of the two pumps"), _ways())
        self.back = choice(tr("Regeneration of the cylinder"), _ways())
        self.loaded = QCheckBox(tr("The tool carries a load"))
        self.rpm = line(tr("Engine speed on the way, rpm"), "1990 rpm")
        self.unloaded = line(tr("Engine speed before it, unloaded, rpm"), "2050 rpm")
        self.oil = line(tr("Oil temperature at the time, °C"), "50 °C")
        self.seconds = line(tr("Time of the repeat, s"), tr("Time"))
        self.spread = line(tr("Its expanded uncertainty ± (k = 2), s"), tr("± if known"))
        self.enter_button = button(tr("Enter the repeat"), tr("Enter the time of this repeat"))
        self.loading = choice(tr("Times that the trace in Review shows"))
        self.trace_button = button(tr("Take it"), tr("Enter the chosen time of the trace"))
        heads = (tr("Time"), tr("Engine"), tr("Oil"), tr("How"))
        self.entries = Entries(job, "cycle timed", tr("Repeats of this phase"), heads, (0, 3))
        self.result = words()
        self.mean_button = button(
            tr("Take the mean as the reading"), tr("The mean of the repeats becomes the reading")
        )
        self._timed: tuple[Timed, ...] = ()
        self._checks: tuple[Check, ...] = ()
        self._lay_out()
        self.check.currentIndexChanged.connect(lambda _: self._show())
        for each in (self.seconds, self.spread):
            each.returnPressed.connect(self._enter)
        self.enter_button.clicked.connect(self._enter)
        self.trace_button.clicked.connect(self._take)
        self.mean_button.clicked.connect(self._mean)

    def show_board(self, board: Board | None) -> None:
        """Show the functions that are timed, and the repeats of the chosen one."""
        sheet = self.job.sheet
        every = sheet.state.sheet.check if board is not None and sheet is not None else ()
        checks = tuple(c for c in every if c.figure is Measures.CYCLE)
        if checks != self._checks:
            self._checks = checks
            self.check.clear()
            for check in checks:
                self.check.addItem(check.title, check.key)
        self.setEnabled(bool(checks))
        self._show()

    def choose(self, key: str) -> None:
        """Stand at the check of that key."""
        self.check.setCurrentIndex(self.check.findData(key))
        self.seconds.setFocus()

    def look(self) -> None:
        """See what times the trace in Review has."""
        self._timed = of_trace(self.in_review())
        self.loading.clear()
        for each in self._timed:
            self.loading.addItem(each.text)
        for part in (self.loading, self.trace_button):
            part.setEnabled(bool(self._timed))
        if not self._timed:
            self.loading.addItem(tr("The trace in Review shows no time."))

    @property
    def _chosen(self) -> Check | None:
        index = self.check.currentIndex()
        return self._checks[index] if 0 <= index < len(self._checks) else None

    def _show(self) -> None:
        sheet, check = self.job.sheet, self._chosen
        if sheet is None or check is None:
            self.entries.show_rows([], [])
            self.result.setText(tr("The sheet has no check that is a cycle time."))
            self.mean_button.setEnabled(False)
            return
        state = sheet.state
        numbers = [
            n
            for n, run in enumerate(state.cycles)
            if run.check == check.key and run.phase is state.phase
        ]
        self.entries.show_rows(numbers, [_row(state.cycles[n]) for n in numbers])
        self.result.setText(bulleted(result_lines(state, check)))
        found = cycles.cycle(state, check.key, state.phase)
        self.mean_button.setEnabled(found is not None and not found.still)

    def _enter(self) -> None:
        check = self._chosen
        if check is None:
            return
        try:
            value = reading(self.seconds.text(), self.spread.text(), Dimension.TIME, "s")
            rpm = optional(self.rpm.text(), Dimension.SPEED, "rpm")
            before = optional(self.unloaded.text(), Dimension.SPEED, "rpm")
            oil = optional(self.oil.text(), Dimension.TEMPERATURE, "°C")
        except UnitError as fault:
            self.job.refused.emit(told(fault))
            return
        if self._put(Timed("", value, rpm, oil), check, before):
            self.seconds.clear()
            self.seconds.setFocus()

    def _take(self) -> None:
        check, index = self._chosen, self.loading.currentIndex()
        if check is None or not 0 <= index < len(self._timed):
            return
        try:
            before = optional(self.unloaded.text(), Dimension.SPEED, "rpm")
        except UnitError as fault:
            self.job.refused.emit(told(fault))
            return
        if self._put(self._timed[index], check, before):
            self.loading.setCurrentIndex(min(index + 1, self.loading.count() - 1))

    def _put(self, timed: Timed, check: Check, before: float | None) -> bool:
        sheet = self.job.sheet
        if sheet is None:
            return False
        if before is not None and before <= 0:
            self.job.refused.emit(tr("The engine's speed before it must be above zero."))
            return False
        droop = None
        if timed.rpm is not None and before is not None:
            droop = cycles.droop_pct(before, timed.rpm)
        update = {"engine_rpm": timed.rpm, "oil_c": timed.oil_c}
        known = {name: value for name, value in update.items() if value is not None}
        return self.job.do(
            "cycle timed", check=check.key, phase=sheet.state.phase, seconds=timed.seconds,
            rpm=timed.rpm, droop_pct=droop, unloaded=not self.loaded.isChecked(),
            merged=self.merge.currentData(), regenerated=self.back.currentData(),
            source=timed.source, conditions=sheet.state.conditions.model_copy(update=known),
        )  # fmt: skip

    def _mean(self) -> None:
        check, sheet = self._chosen, self.job.sheet
        found = cycles.reading(sheet.state, check.key, self.job.now()) if sheet and check else None
        if found is not None:
            self.job.attempt(lambda s: s.take(found))

    def _lay_out(self) -> None:
        seconds = beside(self.seconds, self.spread, QLabel("s"))
        first = rows((tr("Function"), self.check), (tr("Time"), seconds))
        about = rows(
            (tr("Engine speed on the way"), self.rpm),
            (tr("Engine speed before it"), self.unloaded), (tr("Oil temperature"), self.oil),
            (tr("Merge"), self.merge), (tr("Regeneration"), self.back),
        )  # fmt: skip
        side = QWidget()
        left = QVBoxLayout(side)
        left.addLayout(first)
        left.addWidget(self.enter_button)
        left.addWidget(heading(tr("What it was timed under")))
        left.addLayout(about)
        left.addWidget(self.loaded)
        left.addWidget(heading(tr("From the trace in Review")))
        left.addLayout(beside(self.loading, self.trace_button))
        left.addStretch(1)
        halves(self, Scrolled(side, tr("One repeat")), self.entries, self.result, self.mean_button)


def _ways() -> tuple[tuple[str, object], ...]:
    return (
        (tr("as the machine does it"), None), (tr("switched on"), True),
        (tr("switched off"), False),
    )  # fmt: skip


def _row(run: CycleTimed) -> tuple[str, ...]:
    oil = run.conditions.oil_c
    how = [said(w) for w in merging.way(run)]
    if not run.unloaded:
        how.append(tr("loaded"))
    if run.source.trace:
        how.append(run.source.trace)
    return (
        number(run.seconds, "s", 2),
        "—" if run.rpm is None else show(run.rpm, "rpm"),
        "—" if oil is None else show(oil, "°C", 0),
        ", ".join(how) or tr("as the machine does it"),
    )
