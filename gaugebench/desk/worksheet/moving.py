"""What is taken while the machine moves, not at a stall: times, straight travel, tracks, torque."""

from __future__ import annotations

from PySide6.QtWidgets import QTabWidget, QVBoxLayout

from gaugebench.desk.words import tr
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.parts import Pane
from gaugebench.desk.worksheet.times import TimesForm
from gaugebench.desk.worksheet.torqueform import TorqueForm
from gaugebench.desk.worksheet.tracks import TracksForm
from gaugebench.desk.worksheet.walking import WalksForm
from gaugebench.model.sheet import Check
from gaugebench.model.terms import Measures
from gaugebench.procedure.view import Board

FORMS = frozenset({Measures.CYCLE, Measures.DEVIATION, Measures.DROP})
"""Figures that are worked out from several entries."""


class MovingPane(Pane):
    """Four forms; a check leads to its own."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__(job)
        self.times = TimesForm(job)
        self.walks = WalksForm(job)
        self.tracks = TracksForm(job)
        self.torque = TorqueForm(job)
        self.forms = QTabWidget()
        self.forms.setAccessibleName(tr("Forms for what moves"))
        for form, title in (
            (self.times, tr("Times")), (self.walks, tr("Straight travel")),
            (self.tracks, tr("Raised tracks")), (self.torque, tr("Torque")),
        ):  # fmt: skip
            self.forms.addTab(form, title)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.forms)
        self.forms.currentChanged.connect(lambda _: self.times.look())

    def show_board(self, board: Board | None) -> None:
        """Show every form's entries."""
        for form in (self.times, self.walks, self.tracks, self.torque):
            form.show_board(board)

    def choose(self, check: Check) -> None:
        """Stand at the form of a check."""
        if check.figure is Measures.CYCLE:
            self.forms.setCurrentWidget(self.times)
            self.times.look()
            self.times.choose(check.key)
        elif check.figure is Measures.DEVIATION:
            self.forms.setCurrentWidget(self.walks)
            self.walks.choose()
        elif check.figure is Measures.DROP:
            self.forms.setCurrentWidget(self.torque)
            self.torque.choose()
