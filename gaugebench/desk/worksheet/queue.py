"""The queue: what traces offer for the checks, accepted or dropped."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QVBoxLayout

from gaugebench.desk.buttons import button
from gaugebench.desk.words import tr
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.parts import Grid, Pane, line, words
from gaugebench.procedure.follow import Followed
from gaugebench.procedure.view import Board, Waiting


class QueuePane(Pane):
    """Nothing here is taken until it is accepted."""

    take_asked = Signal()
    """The trace that is open in Review is to be gone through."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__(job)
        self.queue: tuple[Waiting, ...] = ()
        heads = (tr("What was seen"), tr("How sure, and why"), tr("Best fit"))
        self.table = Grid(tr("Readings that wait"), heads, (0, 1, 2))
        self.take_button = button(
            tr("Take the trace in Review"), tr("Offer all that the trace open in Review shows")
        )
        self.said = words()
        self.choice = QComboBox()
        self.choice.setAccessibleName(tr("Check that the chosen reading is accepted for"))
        self.accept_button = button(tr("Accept"), tr("Take the reading for the chosen check"))
        self.why = line(tr("Why the reading is dropped"), tr("Why it is dropped"))
        self.drop_button = button(tr("Drop"), tr("Take it out of the queue"))
        self._lay_out()
        self.take_button.clicked.connect(self.take_asked)
        self.table.currentCellChanged.connect(lambda *_: self._show_chosen())
        self.accept_button.clicked.connect(self._accept)
        self.drop_button.clicked.connect(self._drop)

    @property
    def chosen(self) -> Waiting | None:
        """The offer that is chosen."""
        row = self.table.currentRow()
        return self.queue[row] if 0 <= row < len(self.queue) else None

    def show_board(self, board: Board | None) -> None:
        """Show what waits."""
        self.queue = board.queue if board else ()
        rows = [(w.text, w.sure, w.choices[0][1] if w.choices else "") for w in self.queue]
        self.table.show_rows(rows)
        self.take_button.setEnabled(board is not None and not self.job.following)
        if self.job.following:
            self.said.setText(tr("The trace is being gone through …"))
        elif board is not None and not self.queue and not self.said.text():
            self.said.setText(tr("Nothing waits. A record made while the job is open comes here."))
        self._show_chosen()

    def followed(self, found: Followed) -> None:
        """Say what came of a trace."""
        self.said.setText(
            tr(
                "{queued} readings were offered, {filled} checks filled themselves in.",
                queued=len(found.queued),
                filled=len(found.filled),
            )
        )

    def _show_chosen(self) -> None:
        chosen = self.chosen
        for part in (self.choice, self.accept_button, self.why, self.drop_button):
            part.setEnabled(chosen is not None)
        choices = list(chosen.choices) if chosen else []
        shown = [
            (str(self.choice.itemData(i)), self.choice.itemText(i))
            for i in range(self.choice.count())
        ]
        if choices != shown:
            self.choice.clear()
            for key, title in choices:
                self.choice.addItem(title, key)

    def _accept(self) -> None:
        if self.chosen is not None:
            self.job.accept(self.chosen.offer, str(self.choice.currentData()))

    def _drop(self) -> None:
        if self.chosen is not None and self.job.drop(self.chosen.offer, self.why.text().strip()):
            self.why.clear()

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self.take_button)
        head.addWidget(self.said, 1)
        foot = QHBoxLayout()
        foot.addWidget(self.choice, 2)
        foot.addWidget(self.accept_button)
        foot.addWidget(self.why, 1)
        foot.addWidget(self.drop_button)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addLayout(head)
        column.addWidget(self.table, 1)
        column.addLayout(foot)
