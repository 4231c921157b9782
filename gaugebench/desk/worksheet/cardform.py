"""Before a reading: the conditions card, what was looked at, and what is altered for a check."""

from __future__ import annotations

from PySide6.QtWidgets import QCheckBox, QComboBox, QFormLayout, QHBoxLayout, QVBoxLayout, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.words import told, tr
from gaugebench.desk.worksheet.entries import reading
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.parts import Grid, Pane, Scrolled, heading, line, words
from gaugebench.errors import UnitError
from gaugebench.model.job import Conditions
from gaugebench.model.terms import Engine
from gaugebench.procedure.prompt import PORTS_RIGHT
from gaugebench.procedure.view import Board
from gaugebench.quantity import Dimension, show


class CardPane(Pane):
    """The card is stamped on every reading from the press of its button on."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__(job)
        self._card: Conditions | None = None
        self.engine = QComboBox()
        self.engine.setAccessibleName(tr("Engine state"))
        for title, value in (
            (tr("not stated"), None), (tr("off"), Engine.OFF), (tr("low idle"), Engine.LOW),
            (tr("high idle"), Engine.HIGH), (tr("loaded"), Engine.LOADED),
        ):  # fmt: skip
            self.engine.addItem(title, value)
        self.mode = QComboBox()
        self.mode.setAccessibleName(tr("Power mode"))
        self.auto_idle = QCheckBox(tr("Auto-idle is off"))
        self.boost = QCheckBox(tr("Power boost is off"))
        self.speed = line(tr("Travel speed"))
        self.attachment = line(tr("Attachment"))
        self.rpm = line(tr("Engine speed, rpm"), "2050 rpm")
        self.oil = line(tr("Oil temperature, °C"), "50 °C")
        self.stamped = words()
        self.card_button = button(
            tr("Stamp these conditions"), tr("Every reading from now on carries this card")
        )
        self.ports = QCheckBox(tr("Wrong-port check done: every port is right"))
        self.run_in = Grid(tr("Run-in of the rebuilt pump"), (tr("Run-in"), tr("Done")), (0,))
        self.run_in_button = button(tr("Done"), tr("The chosen run-in step is done"))
        self.changes = Grid(
            tr("Alterations"), (tr("What is altered"), tr("How it is undone"), tr("State")), (0, 1)
        )
        self.alter_button = button(tr("Altered now"), tr("The chosen alteration was made"))
        self.restore_button = button(tr("Put back"), tr("The chosen alteration was put back"))
        self._lay_out()
        self.card_button.clicked.connect(self._stamp)
        self.ports.clicked.connect(
            lambda on: self.job.do("observed", fact=PORTS_RIGHT, holds=bool(on))
        )
        self.run_in_button.clicked.connect(self._tick)
        self.alter_button.clicked.connect(self._alter)
        self.restore_button.clicked.connect(self._restore)

    def show_board(self, board: Board | None) -> None:
        """Show the card as it stands, and what is altered."""
        self.setEnabled(board is not None)
        sheet = self.job.sheet
        if board is None or sheet is None:
            self._card = None
            self.stamped.setText("")
            return
        state = sheet.state
        modes = ["", *state.sheet.machine.modes]
        if [self.mode.itemText(i) for i in range(self.mode.count())] != modes:
            self.mode.clear()
            self.mode.addItems(modes)
            self._card = None
        if state.conditions != self._card:
            self._fill(state.conditions)
        self.stamped.setText(tr("On every reading now: {card}", card=board.conditions))
        seen = state.observed.get(PORTS_RIGHT)
        self.ports.setChecked(seen is not None and seen.holds)
        for part in (self.run_in, self.run_in_button):
            part.setVisible(bool(board.run_in))
        self.run_in.show_rows([(e, tr("done") if d else tr("open")) for e, d in board.run_in])
        made = {a.event.change for a in state.open_changes}
        self.changes.show_rows(
            [
                (c.does, c.undo, tr("ALTERED: put it back") if c.key in made else tr("in service"))
                for c in state.sheet.change
            ]
        )
        for each in (self.alter_button, self.restore_button):
            each.setEnabled(bool(state.sheet.change))

    def _fill(self, card: Conditions) -> None:
        self._card = card
        self.engine.setCurrentIndex(max(0, self.engine.findData(card.engine)))
        self.mode.setCurrentIndex(max(0, self.mode.findText(card.mode)))
        self.auto_idle.setChecked(bool(card.auto_idle_off))
        self.boost.setChecked(bool(card.boost_off))
        self.speed.setText(card.travel_speed)
        self.attachment.setText(card.attachment)
        self.rpm.setText("" if card.engine_rpm is None else show(card.engine_rpm, "rpm", 0))
        self.oil.setText("" if card.oil_c is None else show(card.oil_c, "°C", 0))

    def _stamp(self) -> None:
        try:
            rpm, oil = (
                reading(at.text(), "", dimension, unit).value if at.text().strip() else None
                for at, dimension, unit in (
                    (self.rpm, Dimension.SPEED, "rpm"),
                    (self.oil, Dimension.TEMPERATURE, "°C"),
                )
            )
        except UnitError as fault:
            self.job.refused.emit(told(fault))
            return
        card = Conditions(
            engine=self.engine.currentData(),
            mode=self.mode.currentText(),
            auto_idle_off=self.auto_idle.isChecked(),
            boost_off=self.boost.isChecked(),
            travel_speed=self.speed.text().strip(),
            attachment=self.attachment.text().strip(),
            engine_rpm=rpm,
            oil_c=oil,
        )
        self.job.do("conditions", conditions=card)

    def _tick(self) -> None:
        row = self.run_in.currentRow()
        board = self.job.board()
        if board is not None and 0 <= row < len(board.run_in):
            self.job.do("ticked", list_name="run-in", entry=board.run_in[row][0])

    def _alter(self) -> None:
        sheet, row = self.job.sheet, self.changes.currentRow()
        if sheet is not None and 0 <= row < len(sheet.state.sheet.change):
            change = sheet.state.sheet.change[row]
            self.job.do(
                "change made", change=change.key, what=change.kind, does=change.does,
                undo=change.undo, read_again=change.read_again,
            )  # fmt: skip

    def _restore(self) -> None:
        sheet, row = self.job.sheet, self.changes.currentRow()
        if sheet is not None and 0 <= row < len(sheet.state.sheet.change):
            self.job.do("change restored", change=sheet.state.sheet.change[row].key)

    def _lay_out(self) -> None:
        form = QFormLayout()
        for title, part in (
            (tr("Engine"), self.engine), (tr("Power mode"), self.mode),
            (tr("Engine speed"), self.rpm), (tr("Oil temperature"), self.oil),
            (tr("Travel speed"), self.speed), (tr("Attachment"), self.attachment),
        ):  # fmt: skip
            form.addRow(title, part)
        left = QWidget()
        column = QVBoxLayout(left)
        column.addWidget(heading(tr("Conditions card")))
        column.addWidget(self.stamped)
        column.addLayout(form)
        column.addWidget(self.auto_idle)
        column.addWidget(self.boost)
        column.addWidget(self.card_button)
        column.addStretch(1)
        right = QVBoxLayout()
        right.addWidget(heading(tr("Before the first load")))
        right.addWidget(self.ports)
        right.addWidget(self.run_in)
        right.addWidget(self.run_in_button)
        right.addWidget(heading(tr("Altered for a check")))
        right.addWidget(self.changes, 1)
        buttons = QHBoxLayout()
        buttons.addWidget(self.alter_button)
        buttons.addWidget(self.restore_button)
        right.addLayout(buttons)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(Scrolled(left, tr("Conditions card")), 1)
        row.addLayout(right, 1)
