"""Screws: the next turn proposed, turns logged with what was read, and what undoes it all."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.words import said, told, tr
from gaugebench.desk.worksheet.entries import degrees, reading
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.parts import Grid, Pane, bulleted, heading, line, words
from gaugebench.errors import UnitError
from gaugebench.model.job import Moment, Value
from gaugebench.procedure.closing import turns_text
from gaugebench.procedure.screws import Proposal
from gaugebench.procedure.state import JobState, Turn
from gaugebench.procedure.view import Board
from gaugebench.procedure.words import number, shown_unit


class TurningPane(Pane):
    """Advice is there with hands in and as-found locked; else it says which is wanting."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__(job)
        self.advice: tuple[tuple[str, str, Proposal], ...] = ()
        self.why_none = words()
        self.table = Grid(
            tr("Proposed turns"), (tr("What is checked"), tr("Screw"), tr("Next turn")), (0, 2)
        )
        self.notes = words()
        self.degrees = line(tr("Degrees turned; in is positive, out negative"), tr("Degrees"))
        self._proposed = ""
        self.turn_button = button(tr("Log the turn"), tr("The chosen screw was turned so far"))
        self.read = line(tr("Pressure read after the last turn"), tr("Reading"))
        self.spread = line(tr("Its expanded uncertainty ± (k = 2)"), tr("± if known"))
        self.unit = QLabel()
        self.moments = {
            Moment.AFTER_TURN: button(tr("After the turn"), tr("Read after the turn")),
            Moment.AFTER_LOCK_NUT: button(tr("After the lock nut"), tr("Read after the lock nut")),
            Moment.AFTER_LOAD: button(tr("After a load cycle"), tr("Read after one load cycle")),
        }
        heads = (tr("Turn"), tr("Before"), *(b.text() for b in self.moments.values()))
        self.log = Grid(tr("Turns of this job"), heads, range(len(heads)))
        self.back = Grid(
            tr("Put it back"), (tr("What was done"), tr("What undoes it"), tr("State")), (0, 1)
        )
        self._lay_out()
        self.table.currentCellChanged.connect(lambda *_: self._show_chosen())
        self.turn_button.clicked.connect(self._turn)
        self.degrees.returnPressed.connect(self._turn)
        for moment, each in self.moments.items():
            each.clicked.connect(lambda _=False, m=moment: self._read(m))

    def show_board(self, board: Board | None) -> None:
        """Show the advice, the log and the list."""
        sheet = self.job.sheet
        self.setEnabled(board is not None)
        if board is None or sheet is None:
            self.advice = ()
            for grid in (self.table, self.log, self.back):
                grid.show_rows([])
            return
        state = sheet.state
        self.advice = board.advice
        self.table.show_rows(
            [(state.check(key).title, screw, p.text) for key, screw, p in board.advice]
        )
        why_none = _why_none(self.job, board)
        self.why_none.setText(bulleted(why_none) if why_none else "")
        self.log.show_rows([self._turn_row(state, t) for t in reversed(state.turns)])
        self.back.show_rows(
            [(p.what, p.how, tr("done") if p.done else tr("open")) for p in board.put_back]
        )
        last = state.turns[-1] if state.turns else None
        for part in (self.read, self.spread, *self.moments.values()):
            part.setEnabled(last is not None)
        self.unit.setText(self._unit(state, last.event.check) if last else "")
        self._show_chosen()

    def _show_chosen(self) -> None:
        row = self.table.currentRow()
        is_there = 0 <= row < len(self.advice)
        for part in (self.degrees, self.turn_button):
            part.setEnabled(is_there)
        sheet = self.job.sheet
        if not is_there or sheet is None:
            self.notes.setText("")
            return
        key, _, proposal = self.advice[row]
        notes = list(proposal.notes)
        if proposal.predicted is not None:
            text = number(proposal.predicted, self._unit(sheet.state, key))
            notes.insert(0, tr("It should then read {value}.", value=text))
        self.notes.setText(bulleted(notes) if notes else "")
        self._proposed = f"{proposal.turns * 360:+.0f}°" if proposal.turns else ""
        self.degrees.setPlaceholderText(self._proposed or tr("Degrees"))

    def _turn(self) -> None:
        row, sheet = self.table.currentRow(), self.job.sheet
        if sheet is None or not 0 <= row < len(self.advice):
            return
        key, screw, _ = self.advice[row]
        try:
            turns = degrees(self.degrees.text() or self._proposed)
        except UnitError as fault:
            self.job.refused.emit(told(fault))
            return
        own = [t for t in sheet.state.turns if t.event.screw == screw]
        latest = sheet.state.latest(key)
        before = own[-1].last if own and own[-1].last else latest.value if latest else None
        name = f"{screw}, turn {len(own) + 1}"
        fields = {"turn": name, "screw": screw, "check": key, "turns": turns, "before": before}
        if before is not None and self.job.do("screw turned", **fields):
            self.degrees.clear()
            self.read.setFocus()

    def _read(self, moment: Moment) -> None:
        sheet = self.job.sheet
        if sheet is None or not sheet.state.turns:
            return
        last = sheet.state.turns[-1].event
        check = sheet.state.check(last.check)
        try:
            value = reading(self.read.text(), self.spread.text(), check.dimension, self.unit.text())
        except UnitError as fault:
            self.job.refused.emit(told(fault))
            return
        if self.job.do("screw read", turn=last.turn, moment=moment, value=value):
            self.read.clear()
            self.spread.clear()

    def _turn_row(self, state: JobState, turn: Turn) -> tuple[str, ...]:
        unit = self._unit(state, turn.event.check)

        def text(value: Value | None) -> str:
            return number(value, unit) if value else "—"

        reads = (text(turn.reads.get(moment)) for moment in self.moments)
        what = f"{turn.event.turn}: {said(turns_text(turn.event.turns))}"
        return (what, text(turn.event.before), *reads)

    def _unit(self, state: JobState, check: str) -> str:
        return shown_unit(state.check(check), self.job.units.shown.pressure)

    def _lay_out(self) -> None:
        turn = QHBoxLayout()
        turn.addWidget(self.degrees, 1)
        turn.addWidget(self.turn_button)
        read = QHBoxLayout()
        read.addWidget(self.read, 1)
        read.addWidget(self.spread, 1)
        read.addWidget(self.unit)
        at = QHBoxLayout()
        for each in self.moments.values():
            at.addWidget(each)
        left, right = QWidget(), QWidget()
        column = QVBoxLayout(left)
        column.addWidget(heading(tr("Next turn")))
        column.addWidget(self.why_none)
        column.addWidget(self.table, 1)
        column.addWidget(self.notes)
        column.addLayout(turn)
        column.addWidget(heading(tr("Read again")))
        column.addLayout(read)
        column.addLayout(at)
        column = QVBoxLayout(right)
        column.addWidget(heading(tr("Turns of this job")))
        column.addWidget(self.log, 1)
        column.addWidget(heading(tr("Put it back")))
        column.addWidget(self.back, 1)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(left, 1)
        row.addWidget(right, 1)


def _why_none(job: JobDesk, board: Board) -> tuple[str, ...]:
    """Warnings, and the worksheet's own word on why no screw may be turned now."""
    if board.advice or job.sheet is None or not job.sheet.state.sheet.screw:
        return board.warnings
    check = next((c for c in job.sheet.state.sheet.check if c.screws), None)
    if check is None:
        return board.warnings
    unread = {"value": 0.0, "unit": check.dimension.value}
    refused = job.may(
        "screw turned", turn="?", screw=check.screws[0], check=check.key, turns=1.0, before=unread
    )
    return (*board.warnings, refused or tr("No check with a screw is out of its band."))
