"""Before a reading: the conditions card, and what was looked at before the first load."""

from __future__ import annotations

from PySide6.QtWidgets import QCheckBox, QComboBox, QHBoxLayout, QVBoxLayout, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.words import told, tr
from gaugebench.desk.worksheet.entries import optional
from gaugebench.desk.worksheet.formparts import rows
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
        self._lay_out()
        self.card_button.clicked.connect(self._stamp)
        self.ports.clicked.connect(
            lambda on: self.job.do("observed", fact=PORTS_RIGHT, holds=bool(on))
        )
        self.run_in_button.clicked.connect(self._tick)

    def show_board(self, board: Board | None) -> None:
        """Show the card as it stands."""
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
            rpm = optional(self.rpm.text(), Dimension.SPEED, "rpm")
            oil = optional(self.oil.text(), Dimension.TEMPERATURE, "°C")
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

    def _lay_out(self) -> None:
        form = rows(
            (tr("Engine"), self.engine), (tr("Power mode"), self.mode),
            (tr("Engine speed"), self.rpm), (tr("Oil temperature"), self.oil),
            (tr("Travel speed"), self.speed), (tr("Attachment"), self.attachment),
        )  # fmt: skip
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
        right.addWidget(self.run_in, 1)
        right.addWidget(self.run_in_button)
        right.addStretch(0)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(Scrolled(left, tr("Conditions card")), 1)
        row.addLayout(right, 1)
