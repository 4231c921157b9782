"""The checks in order, and the chosen one: why now, what to do, when to stop, its reading."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSplitter, QVBoxLayout, QWidget

from gaugebench.analyse.verdict import Outcome
from gaugebench.desk.buttons import button
from gaugebench.desk.words import said, told, tr
from gaugebench.desk.worksheet.entries import reading
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.moving import FORMS
from gaugebench.desk.worksheet.parts import Grid, Pane, Scrolled, bulleted, heading, line, words
from gaugebench.errors import UnitError
from gaugebench.model.job import How
from gaugebench.model.sheet import Check
from gaugebench.procedure.prompt import prompt
from gaugebench.procedure.view import Board, CheckRow, Side
from gaugebench.procedure.words import shown_unit


class ChecksPane(Pane):
    """The table keeps the order of the visit; the check that comes next is chosen by itself."""

    form_asked = Signal(str)
    """The check of this key is to be entered by its form."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__(job)
        self.rows: tuple[CheckRow, ...] = ()
        self._next = ""
        heads = (
            tr("What is checked"), tr("Band and source"), tr("As found ± (k = 2)"),
            tr("As left ± (k = 2)"), tr("State"),
        )  # fmt: skip
        self.table = Grid(tr("Checks in order"), heads, (0, 1, 2, 3, 4))
        self.next_button = button(tr("What comes next"), tr("Choose the check that comes next"))
        self.title = heading("")
        self.title.setWordWrap(True)
        self.told = words()
        self.value = line(tr("Reading of the chosen check"), tr("Reading"))
        self.spread = line(tr("Its expanded uncertainty ± (k = 2)"), tr("± if known"))
        self.unit = QLabel()
        self.enter_button = button(tr("Enter"), tr("Enter the reading by hand"))
        self.form_button = button(
            tr("Enter it step by step…"), tr("Go to the form that this check is worked out with")
        )
        self.why = line(tr("Why it is not tested, or not adjusted"), tr("Why not"))
        self.untested_button = button(tr("Not tested"), tr("Leave this check out, and say why"))
        self.unadjusted_button = button(
            tr("Not adjusted"), tr("Leave it out of its band on purpose, and say why")
        )
        self._lay_out()
        self.table.currentCellChanged.connect(lambda *_: self._show_chosen())
        self.next_button.clicked.connect(self._choose_next)
        self.enter_button.clicked.connect(self._enter)
        self.form_button.clicked.connect(self._go_to_form)
        self.value.returnPressed.connect(self._enter)
        self.spread.returnPressed.connect(self._enter)
        self.untested_button.clicked.connect(lambda: self._leave("not tested"))
        self.unadjusted_button.clicked.connect(lambda: self._leave("not adjusted"))

    @property
    def chosen(self) -> Check | None:
        """The chosen check."""
        row = self.table.currentRow()
        if self.job.sheet is None or not 0 <= row < len(self.rows):
            return None
        return self.job.sheet.state.check(self.rows[row].key)

    def choose(self, key: str) -> None:
        """Choose a check."""
        for n, row in enumerate(self.rows):
            if row.key == key:
                self.table.setCurrentCell(n, 0)
                self._show_chosen()

    def show_board(self, board: Board | None) -> None:
        """Show the checks; go to the next one where it is another than before."""
        self.rows = board.rows if board else ()
        self.table.show_rows([self._texts(row) for row in self.rows])
        following = board.next.check.key if board and board.next else ""
        self.next_button.setEnabled(bool(following))
        if following != self._next:
            self._next = following
            self.choose(following)
        self._show_chosen()

    def _texts(self, row: CheckRow) -> tuple[str, ...]:
        why = ""
        if self.job.sheet is not None:
            state = self.job.sheet.state
            why = state.not_adjusted.get(row.key) or state.not_tested.get(row.key) or ""
            why = why if row.state in {"not adjusted", "not tested"} else ""
        standing = [_standing(row.state) + (f": {why}" if why else "")]
        if row.provisional:
            standing.append(said(row.provisional))
        band = "\n".join(said(p) for p in (row.band, row.source) if p)
        return (row.title, band, _side(row.found), _side(row.left), "\n".join(standing))

    def _show_chosen(self) -> None:
        check, sheet = self.chosen, self.job.sheet
        for part in (
            self.value, self.spread, self.enter_button, self.why, self.untested_button,
            self.unadjusted_button,
        ):  # fmt: skip
            part.setEnabled(check is not None)
        self.form_button.setVisible(check is not None and check.figure in FORMS)
        if check is None or sheet is None:
            self.title.setText("")
            self.told.setText(tr("No job is open; start or resume one first."))
            self.unit.setText("")
            return
        asked = prompt(sheet.state, check.key, self.job.now())
        self.title.setText(check.title)
        self.unit.setText(shown_unit(check, self.job.units.shown.pressure))
        parts = [
            said(asked.why_now),
            tr("Do: {what}", what=asked.do),
            tr("Stop: {when}", when=said(asked.stop_when)),
        ]
        if asked.refusals:
            parts.insert(0, tr("Not yet:") + "\n" + bulleted(asked.refusals))
        if asked.provisional:
            parts.append(said(asked.provisional))
        if asked.cautions:
            parts.append(tr("Take care:") + "\n" + bulleted(asked.cautions))
        text = "\n\n".join(parts)
        if text != self.told.text():
            self.told.setText(text)

    def _go_to_form(self) -> None:
        check = self.chosen
        if check is not None:
            self.form_asked.emit(check.key)

    def _choose_next(self) -> None:
        self.choose(self._next)
        self.value.setFocus()

    def _enter(self) -> None:
        check, sheet = self.chosen, self.job.sheet
        if check is None or sheet is None:
            return
        try:
            value = reading(
                self.value.text(), self.spread.text(), check.dimension, self.unit.text()
            )
        except UnitError as fault:
            self.job.refused.emit(told(fault))
            return
        taken = self.job.do(
            "reading", check=check.key, phase=sheet.state.phase, value=value, how=How.BY_HAND
        )
        if taken:
            self.value.clear()
            self.spread.clear()

    def _leave(self, kind: str) -> None:
        check = self.chosen
        if check is None:
            return
        why = self.why.text().strip()
        if not why:
            self.job.refused.emit(tr("Say why it is left so; the report gives the reason."))
            self.why.setFocus()
            return
        if self.job.do(kind, check=check.key, why=why):
            self.why.clear()

    def _lay_out(self) -> None:
        enter = QHBoxLayout()
        enter.addWidget(self.value, 2)
        enter.addWidget(self.spread, 1)
        enter.addWidget(self.unit)
        enter.addWidget(self.enter_button)
        leave = QHBoxLayout()
        leave.addWidget(self.untested_button)
        leave.addWidget(self.unadjusted_button)
        side = QWidget()
        column = QVBoxLayout(side)
        column.setContentsMargins(8, 0, 0, 0)
        column.addWidget(self.title)
        column.addWidget(Scrolled(self.told, tr("What to do for the chosen check")), 1)
        column.addWidget(self.form_button)
        column.addLayout(enter)
        column.addWidget(self.why)
        column.addLayout(leave)
        column.addWidget(self.next_button)
        split = QSplitter()
        split.addWidget(self.table)
        split.addWidget(side)
        split.setStretchFactor(0, 1)
        split.setSizes([1040, 520])
        row = QVBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(split)


def _side(side: Side) -> str:
    """A reading with its verdict in words."""
    if not side.text:
        return ""
    verdict = {
        Outcome.PASS: tr("in its band"),
        Outcome.FAIL: tr("OUT OF ITS BAND"),
        Outcome.CANNOT_TELL: tr("cannot tell"),
        None: tr("no verdict"),
    }[side.outcome]
    why = side.reason if side.outcome in {Outcome.CANNOT_TELL, None} else ""
    return f"{said(side.text)}\n{verdict}" + (f": {said(why)}" if why else "")


def _standing(state: str) -> str:
    return {
        "to do": tr("open"),
        "read": tr("read"),
        "not tested": tr("not tested"),
        "not adjusted": tr("not adjusted"),
        "to read again": tr("to read again"),
    }[state]
