"""Always in sight: hands in or under load, the phase and its lock, the next stall, the way to
closing."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.words import said, tr
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.parts import Pane, line, words
from gaugebench.model.job import Hands, Phase
from gaugebench.procedure import heat
from gaugebench.procedure.view import Board


class StatusBar(Pane):
    """Under load takes two presses and a name: the second says that everybody is clear."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__(job)
        self.hands = QLabel()
        self.hands.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        self.hands_button = button(tr("To under load…"), tr("Switch the state of the work"))
        self.clear_name = line(tr("Name of who confirms that everybody is clear"), tr("Name"))
        self.clear_button = button(
            tr("Everybody is clear: under load"), tr("Confirm that everybody is clear")
        )
        self.cancel_button = button(tr("Stay hands in"), tr("Do not switch to under load"))
        self.phase = QLabel()
        self.lock_button = button(
            tr("Lock as found"), tr("As-found is complete: lock it, then adjusting may begin")
        )
        self.stall = words()
        self.closing = words()
        for each in (self.stall, self.closing):
            each.setAlignment(Qt.AlignmentFlag.AlignVCenter)
        self.confirm = QWidget()
        self._technician = ""
        self._lay_out()
        self.hands_button.clicked.connect(self._switch)
        self.clear_button.clicked.connect(self._under_load)
        self.clear_name.returnPressed.connect(self._under_load)
        self.cancel_button.clicked.connect(self.confirm.hide)
        self.lock_button.clicked.connect(lambda: self.job.do("as found locked"))

    def show_board(self, board: Board | None) -> None:
        """Show the state of the work."""
        self.setVisible(board is not None)
        if board is None or self.job.sheet is None:
            self.confirm.hide()
            return
        state = self.job.sheet.state
        self._technician = state.opened.technician
        is_in = board.hands is Hands.IN
        self.hands.setText(tr("HANDS IN") if is_in else tr("UNDER LOAD"))
        if self.hands.property("trouble") is not (not is_in):
            self.hands.setProperty("trouble", not is_in)
            self.hands.style().unpolish(self.hands)
            self.hands.style().polish(self.hands)  # the style looks at a property only then
            self.hands.updateGeometry()
        self.hands.setAccessibleName(said(board.hands_text))
        self.hands.setToolTip(said(board.hands_text))
        self.hands_button.setText(tr("To under load…") if is_in else tr("To hands in"))
        is_found = board.phase is Phase.AS_FOUND
        self.phase.setText(tr("As found: open") if is_found else tr("As left (as found is locked)"))
        self.lock_button.setVisible(is_found)
        limits = heat.StallLimits.of(state.sheet.stall)
        stored = heat.stored_s(limits, state.stalls, self.job.now())
        budget = tr(
            "Heat: {stored} of {budget} s", stored=f"{stored:.0f}", budget=f"{limits.budget_s:.0f}"
        )
        self.stall.setText("" if state.closed is not None else f"{budget}. {_stall(board)}")
        count = len(board.blocks)
        if state.closed is not None:
            self.closing.setText(tr("The job is closed"))
        elif count:
            self.closing.setText(
                tr("{count} before closing: {first}", count=count, first=said(board.blocks[0]))
            )
        else:
            self.closing.setText(tr("Nothing keeps the job from being closed"))
        self.closing.setToolTip("\n".join(said(b) for b in board.blocks))

    def _switch(self) -> None:
        if self.job.sheet is None:
            return
        if self.job.sheet.state.hands is Hands.UNDER_LOAD:
            self.job.do("hands", hands=Hands.IN)
            return
        self.clear_name.setText(self._technician)
        self.confirm.show()
        self.clear_name.setFocus()

    def _under_load(self) -> None:
        if self.job.do("hands", hands=Hands.UNDER_LOAD, confirmed_by=self.clear_name.text()):
            self.confirm.hide()
            self.hands_button.setFocus()

    def _lay_out(self) -> None:
        ask = QHBoxLayout(self.confirm)
        ask.setContentsMargins(0, 0, 0, 0)
        ask.addWidget(QLabel(tr("Nobody at the pump, under the machine or in the swing circle?")))
        ask.addWidget(self.clear_name, 1)
        ask.addWidget(self.clear_button)
        ask.addWidget(self.cancel_button)
        self.confirm.hide()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.addWidget(self.hands, 0, 0)
        grid.addWidget(self.hands_button, 0, 1)
        grid.addWidget(self.phase, 0, 2)
        grid.addWidget(self.lock_button, 0, 3)
        grid.addWidget(self.stall, 0, 4)
        grid.addWidget(self.closing, 0, 5)
        grid.addWidget(self.confirm, 1, 0, 1, 6)
        grid.setColumnStretch(4, 1)
        grid.setColumnStretch(5, 1)


def _stall(board: Board) -> str:
    """Whether the next stall may begin, or the first reason why not."""
    following = board.next
    refused = following.refusals if following is not None and following.check.loads else ()
    if refused or board.wait:
        return tr("No stall yet: {why}", why=said(refused[0] if refused else board.wait))
    if following is not None and following.check.loads:
        return tr("A stall may begin.")
    return tr("Nothing to wait for.")
