"""Torque: the engine proved first, then points with both pumps moving at 50 to 80 % of relief."""

from __future__ import annotations

from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.buttons import button
from gaugebench.desk.words import said, told, tr
from gaugebench.desk.worksheet.entries import optional, reading
from gaugebench.desk.worksheet.formparts import beside, halves, rows, title_of
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.parts import Pane, Scrolled, bulleted, heading, line, words
from gaugebench.desk.worksheet.struck import Entries
from gaugebench.errors import UnitError
from gaugebench.model.saying import fixed
from gaugebench.model.sheet import Check
from gaugebench.model.terms import Measures
from gaugebench.procedure import torque
from gaugebench.procedure.state import JobState
from gaugebench.procedure.torque import Point
from gaugebench.procedure.view import Board
from gaugebench.quantity import Dimension, show


class TorqueForm(Pane):
    """Points are entered once something is said of the engine; what counts is the core's word."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__(job)
        self.how = line(
            tr("How the engine was proved"), tr("for example: full throttle, pumps at stand-by")
        )
        self.sound_button = button(tr("Engine sound"), tr("The engine alone does what it should"))
        self.weak_button = button(tr("Engine weak"), tr("The engine alone falls short"))
        self.proof = words()
        self.mains: list[QLineEdit] = []
        self.rpm = line(tr("Engine speed under both pumps, rpm"), "1950 rpm")
        self.spread = line(tr("Its expanded uncertainty ± (k = 2), rpm"), tr("± if known"))
        self.unloaded = line(tr("Engine speed before it, unloaded, rpm"), "2050 rpm")
        self.held = line(tr("For how long it was held, s"), "3 s")
        self.moving = QCheckBox(tr("Both pumps move something: no stall"))
        self.enter_button = button(tr("Enter the point"), tr("Enter this load point"))
        heads = (tr("Mains"), tr("Engine"), tr("Falls by"), tr("Counts"))
        self.entries = Entries(job, "load point", tr("Load points"), heads, (0, 3))
        self.result = words()
        self.reading_button = button(
            tr("Take the greatest drop as the reading"),
            tr("The greatest drop that counts becomes the reading"),
        )
        self.load = QWidget()
        self._pumps = rows()
        self._lay_out()
        self.sound_button.clicked.connect(lambda: self._prove(sound=True))
        self.weak_button.clicked.connect(lambda: self._prove(sound=False))
        self.enter_button.clicked.connect(self._enter)
        for each in (self.rpm, self.spread, self.unloaded, self.held):
            each.returnPressed.connect(self._enter)
        self.reading_button.clicked.connect(self._read)

    def show_board(self, board: Board | None) -> None:
        """Show the proof, the points and what they tell."""
        sheet = self.job.sheet
        self.setEnabled(board is not None)
        if board is None or sheet is None:
            self.entries.show_rows([], [])
            for label in (self.result, self.proof):
                label.setText("")
            return
        state = sheet.state
        self._show_mains([p.number for p in state.sheet.pump])
        engine = state.engine
        self.load.setEnabled(engine is not None)
        if engine is None:
            self.proof.setText(tr("Not proved yet: prove it first, then the points are entered."))
        else:
            found = tr("Sound") if engine.sound else tr("Weak")
            self.proof.setText(f"{found}: {engine.how}")
        unit = self.job.units.shown.pressure
        points = torque.points(state)
        self.entries.show_rows(range(len(points)), [_row(p, unit) for p in points])
        self.result.setText(bulleted(_lines(state, unit)))
        self.reading_button.setEnabled(_check(state) is not None and any(p.counts for p in points))

    def choose(self) -> None:
        """Stand at what comes first."""
        is_proved = self.job.sheet is not None and self.job.sheet.state.engine is not None
        (self.mains[0] if is_proved and self.mains else self.how).setFocus()

    def _show_mains(self, pumps: list[int]) -> None:
        unit = self.job.units.shown.pressure
        if len(pumps) != len(self.mains):
            while self._pumps.rowCount():
                self._pumps.removeRow(0)
            self.mains = []
            for number in pumps:
                title = tr("Pump {number}, main", number=number)
                each = line(title)
                each.returnPressed.connect(self._enter)
                self.mains.append(each)
                self._pumps.addRow(title_of(title), each)
        for each in self.mains:
            each.setPlaceholderText(unit)

    def _prove(self, *, sound: bool) -> None:
        how = self.how.text().strip()
        if not how:
            self.job.refused.emit(tr("Say how the engine was proved; the report gives it."))
            self.how.setFocus()
            return
        if self.job.do("engine proved", sound=sound, how=how):
            self.how.clear()
            self.choose()

    def _enter(self) -> None:
        unit = self.job.units.shown.pressure
        try:
            mains = tuple(
                reading(each.text(), "", Dimension.PRESSURE, unit).value for each in self.mains
            )
            rpm = reading(self.rpm.text(), self.spread.text(), Dimension.SPEED, "rpm")
            unloaded = reading(self.unloaded.text(), "", Dimension.SPEED, "rpm").value
            held = optional(self.held.text(), Dimension.TIME, "s")
        except UnitError as fault:
            self.job.refused.emit(told(fault))
            return
        done = self.job.do(
            "load point", main_pa=mains, rpm=rpm, unloaded_rpm=unloaded, held_s=held or 0.0,
            moving=self.moving.isChecked(),
        )  # fmt: skip
        if done:
            for each in (*self.mains, self.rpm):
                each.clear()
            self.choose()

    def _read(self) -> None:
        sheet = self.job.sheet
        check = _check(sheet.state) if sheet else None
        found = torque.reading(sheet.state, check.key, self.job.now()) if sheet and check else None
        if found is not None:
            self.job.attempt(lambda s: s.take(found))

    def _lay_out(self) -> None:
        buttons = QHBoxLayout()
        buttons.addWidget(self.sound_button)
        buttons.addWidget(self.weak_button)
        form = rows(
            (tr("Engine speed"), beside(self.rpm, self.spread, QLabel("rpm"))),
            (tr("Engine speed before it"), self.unloaded), (tr("Held for"), self.held),
        )  # fmt: skip
        point = QVBoxLayout(self.load)
        point.setContentsMargins(0, 0, 0, 0)
        point.addLayout(self._pumps)
        point.addLayout(form)
        point.addWidget(self.moving)
        point.addWidget(self.enter_button)
        side = QWidget()
        left = QVBoxLayout(side)
        left.addWidget(heading(tr("The engine first")))
        left.addWidget(self.proof)
        left.addWidget(self.how)
        left.addLayout(buttons)
        left.addWidget(heading(tr("One load point")))
        left.addWidget(self.load)
        left.addStretch(1)
        form_side = Scrolled(side, tr("One load point"))
        halves(self, form_side, self.entries, self.result, self.reading_button)


def _check(state: JobState) -> Check | None:
    return next((c for c in state.sheet.check if c.figure is Measures.DROP), None)


def _row(point: Point, unit: str) -> tuple[str, ...]:
    mains: str = show(point.sum_pa, unit)
    if point.share is not None:
        mains = tr(
            "{sum} in all, the higher {share} % of relief",
            sum=mains, share=fixed(100 * point.share),
        )  # fmt: skip
    return (
        mains,
        show(point.rpm, "rpm"),
        show(point.drop_rpm, "rpm"),
        tr("yes") if point.counts else tr("no: {why}", why=said(point.why)),
    )


def _lines(state: JobState, unit: str) -> list[str]:
    wanted = torque.wanted_pa(state)
    if wanted is None:
        where: str = tr("The main relief is not known, so no point counts yet.")
    else:
        low, high = (show(p, unit, 0) for p in wanted)
        where = tr("Hold both mains between {low} and {high}, both moving.", low=low, high=high)
    judged = torque.torque(state)
    limit = tr(
        "Limit: {limit} below the unloaded speed ({source}).",
        limit=show(judged.limit_rpm, "rpm"), source=said(judged.limit_from),
    )  # fmt: skip
    return [where, limit, judged.cause]
