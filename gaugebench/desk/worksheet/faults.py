"""Where the fault lies: causes with what speaks for and against, and the exchange that tells."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout

from gaugebench.desk.words import tr
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.parts import Grid, Pane, Scrolled, bulleted, heading, words
from gaugebench.desk.worksheet.swapping import SwapForm
from gaugebench.procedure.limiting import Row, Standing
from gaugebench.procedure.view import Board


class FaultsPane(Pane):
    """The table as the rules give it; nothing is weighed here."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__(job)
        self.causes: tuple[Row, ...] = ()
        heads = (tr("Cause"), tr("Standing"), tr("Next check"))
        self.table = Grid(tr("Causes"), heads, (0, 2))
        self.evidence = words()
        self.pumps = words()
        self.exchange = SwapForm(job)
        self._lay_out()
        self.table.currentCellChanged.connect(lambda *_: self._show_chosen())

    def show_board(self, board: Board | None) -> None:
        """Show the causes and the exchange."""
        self.setEnabled(board is not None)
        self.causes = board.causes if board else ()
        self.table.show_rows([(c.title, _standing(c.standing), c.next_check) for c in self.causes])
        self.pumps.setText(bulleted([p.text for p in board.pumps]) if board else "")
        self.exchange.show_board(board)
        self._show_chosen()

    def _show_chosen(self) -> None:
        row = self.table.currentRow()
        if not 0 <= row < len(self.causes):
            self.evidence.setText("")
            return
        cause = self.causes[row]
        groups = (
            (tr("For it"), cause.evidence_for),
            (tr("Against it"), cause.evidence_against),
            (tr("Not known, and would decide"), cause.missing),
        )
        text = "\n\n".join(f"{title}:\n{bulleted(found)}" for title, found in groups)
        if text != self.evidence.text():
            self.evidence.setText(text)

    def _lay_out(self) -> None:
        left = QVBoxLayout()
        left.addWidget(heading(tr("Where the fault lies")))
        left.addWidget(self.table, 2)
        left.addWidget(Scrolled(self.evidence, tr("Evidence")), 1)
        right = QVBoxLayout()
        right.addWidget(heading(tr("Pumps")))
        right.addWidget(self.pumps)
        right.addWidget(self.exchange)
        right.addStretch(1)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addLayout(left, 3)
        row.addLayout(right, 2)


def _standing(standing: Standing) -> str:
    return {
        Standing.SHOWN: tr("SHOWN"),
        Standing.COVERED: tr("may come of a row above"),
        Standing.CANNOT_TELL: tr("cannot tell"),
        Standing.OPEN: tr("open"),
        Standing.NOTHING: tr("nothing out of its band"),
        Standing.RULED_OUT: tr("ruled out"),
    }[standing]
