"""Before and after: every check that was read both ways, its traces side by side in one press."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout

from gaugebench.desk.buttons import button
from gaugebench.desk.words import said, tr
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.parts import Grid, Pane, heading, words
from gaugebench.model.job import Phase, Source
from gaugebench.model.role import Role
from gaugebench.procedure import compare
from gaugebench.procedure.state import JobState
from gaugebench.procedure.view import Board
from gaugebench.procedure.words import number, shown_unit


@dataclass(frozen=True, slots=True)
class BothWays:
    """A check as found and as left. readings: both and the change, in words. folder: the job's."""

    check: str
    title: str
    role: Role
    found: Source
    left: Source
    readings: tuple[str, str, str]
    folder: Path


class BesidePane(Pane):
    """Only what was read from a trace can be laid side by side; the table says the rest."""

    asked = Signal(object)
    """Lay these `BothWays` side by side."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__(job)
        self.rows: tuple[BothWays, ...] = ()
        heads = (tr("What is checked"), tr("As found"), tr("As left"), tr("Change"))
        self.table = Grid(tr("Before and after"), heads, (0, 1, 2, 3))
        self.told = words()
        self.open_button = button(
            tr("Side by side"), tr("Lay the traces of the chosen check side by side")
        )
        self._lay_out()
        self.open_button.clicked.connect(self._ask)
        self.table.itemDoubleClicked.connect(lambda _: self._ask())

    def show_board(self, board: Board | None) -> None:
        """Show what was read both ways."""
        self.setEnabled(board is not None)
        sheet, path = self.job.sheet, self.job.path
        self.rows = ()
        if board is not None and sheet is not None and path is not None:
            self.rows = self._both(sheet.state, path.parent)
        self.table.show_rows([(r.title, *r.readings) for r in self.rows])
        self.open_button.setEnabled(bool(self.rows))
        self.told.setText(
            tr("A reading that was entered by hand has no trace; it stands under Checks.")
            if self.rows
            else tr("No check was read from a trace both as found and as left yet.")
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        """Enter opens the chosen check."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            self._ask()
        else:
            super().keyPressEvent(event)

    def _both(self, state: JobState, folder: Path) -> tuple[BothWays, ...]:
        rows = []
        for pair in compare.pairs(state):
            check = state.check(pair.check)
            there = shown_unit(check, self.job.units.shown.pressure)
            values = [state.reading(pair.check, phase) for phase in Phase]
            texts = [said(number(r.value, there)) if r else "" for r in values]
            readings = (texts[0], texts[1], said(compare.change_text(pair, there)))
            rows.append(
                BothWays(
                    pair.check, pair.title, check.role, pair.found, pair.left, readings, folder
                )
            )
        return tuple(rows)

    def _ask(self) -> None:
        row = self.table.currentRow()
        if 0 <= row < len(self.rows):
            self.asked.emit(self.rows[row])

    def _lay_out(self) -> None:
        foot = QHBoxLayout()
        foot.addWidget(self.told, 1)
        foot.addWidget(self.open_button)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(heading(tr("Before and after")))
        column.addWidget(self.table, 1)
        column.addLayout(foot)
