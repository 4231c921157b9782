"""A table of entries, any of which can be struck out where it was a slip."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.words import tr
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.desk.worksheet.parts import Grid, line


class Entries(QWidget):
    """Entries of one kind. What is struck stays in the job's list of events, with the reason."""

    def __init__(
        self, job: JobDesk, kind: str, says: str, heads: Sequence[str], wide: Sequence[int]
    ) -> None:
        """kind: of the events that are shown. wide: the columns that share what room is left."""
        super().__init__()
        self.job, self.kind = job, kind
        self._numbers: list[int] = []
        self.table = Grid(says, heads, wide)
        self.why = line(tr("Why the chosen entry is struck out"), tr("Why it is struck out"))
        self.strike_button = button(
            tr("Strike out"), tr("The chosen entry was a slip: it counts no more")
        )
        foot = QHBoxLayout()
        foot.addWidget(self.why, 1)
        foot.addWidget(self.strike_button)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.table, 1)
        column.addLayout(foot)
        self.strike_button.clicked.connect(self._strike)
        self.why.returnPressed.connect(self._strike)
        self.show_rows([], [])

    def show_rows(self, numbers: Sequence[int], rows: Sequence[tuple[str, ...]]) -> None:
        """Show rows; numbers: the place of each among the entries of its kind that count."""
        self._numbers = list(numbers)
        self.table.show_rows(rows)
        for part in (self.why, self.strike_button):
            part.setEnabled(bool(rows))

    def _strike(self) -> None:
        row = self.table.currentRow()
        if not 0 <= row < len(self._numbers):
            return
        fields = {"of": self.kind, "number": self._numbers[row], "why": self.why.text().strip()}
        if self.job.do("entry struck", **fields):
            self.why.clear()
