"""What the panes of the worksheet are made of."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRect, QSize, Qt, QTimer
from PySide6.QtGui import QFont, QFontMetrics
from PySide6.QtWidgets import (
    QFrame,
    QHeaderView,
    QLabel,
    QLineEdit,
    QScrollArea,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from gaugebench.desk.scale import touch
from gaugebench.desk.words import said, tr
from gaugebench.desk.worksheet.jobdesk import JobDesk
from gaugebench.procedure.view import Board

PAD = 7
"""Round a head of a table, in device-independent pixels, as the style sheet has it."""


class Pane(QWidget):
    """A part of the worksheet: shows a board, and hands what is done to the job."""

    def __init__(self, job: JobDesk) -> None:
        super().__init__()
        self.job = job

    def show_board(self, board: Board | None) -> None:
        """Show the job as it stands; None without a job."""
        raise NotImplementedError


def heading(text: str) -> QLabel:
    """A heading."""
    made = QLabel(text)
    made.setWordWrap(True)
    made.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
    return made


def words() -> QLabel:
    """A text of several lines that can be marked and copied."""
    made = QLabel()
    made.setWordWrap(True)
    made.setAlignment(Qt.AlignmentFlag.AlignTop)
    made.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    made.setTextFormat(Qt.TextFormat.PlainText)
    return made


def line(says: str, hint: str = "") -> QLineEdit:
    """A line to type in. says: its accessible name."""
    made = QLineEdit()
    made.setAccessibleName(says)
    made.setToolTip(says)
    made.setPlaceholderText(hint)
    return made


def bulleted(texts: Sequence[str]) -> str:
    """Sentences in the language spoken, one a line; a dash where there is none."""
    return "\n".join(f"• {said(t)}" for t in texts) or "—"


class Scrolled(QScrollArea):
    """Something taller than its place."""

    def __init__(self, content: QWidget, says: str) -> None:
        super().__init__()
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName(says)
        self.setWidget(content)


class _Heads(QHeaderView):
    """Heads of a table; one that is wider than its column takes as many lines as it needs."""

    def __init__(self) -> None:
        super().__init__(Qt.Orientation.Horizontal)
        self.setDefaultAlignment(Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap)
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.timeout.connect(self._fit_height)
        self.sectionResized.connect(lambda *_: self._later.start(0))

    def _fit_height(self) -> None:
        """A column that became narrower may need a higher head: Qt keeps the height it had."""
        before = self.height()
        self.headerDataChanged(self.orientation(), 0, max(self.count() - 1, 0))
        if self.sizeHint().height() != before:
            self.geometriesChanged.emit()

    def sectionSizeFromContents(self, column: int) -> QSize:  # noqa: N802 - Qt's name
        """As wide as one line wants to be, as high as the column lets it be."""
        size = super().sectionSizeFromContents(column)
        font = QFont(self.font())
        font.setBold(True)  # as the style sheet draws it
        text = str(self.model().headerData(column, self.orientation()))
        box = QFontMetrics(font).boundingRect(
            QRect(0, 0, max(self.sectionSize(column) - 2 * PAD, 1), 1000),
            int(Qt.TextFlag.TextWordWrap),
            text,
        )
        return QSize(size.width(), max(size.height(), box.height() + 2 * PAD))


class Grid(QTableWidget):
    """A table that is only read: rows of texts, one row chosen, heights for a glove."""

    def __init__(self, says: str, heads: Sequence[str], wide: Sequence[int]) -> None:
        """wide: the columns that share what room is left."""
        super().__init__(0, len(heads))
        self.setHorizontalHeader(_Heads())
        self.setAccessibleName(says)
        self.setHorizontalHeaderLabels(list(heads))
        self.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QTableWidget.SelectionMode.SingleSelection)
        self.setSelectionBehavior(QTableWidget.SelectionBehavior.SelectRows)
        self.setTabKeyNavigation(False)
        self.setWordWrap(True)
        self.setAlternatingRowColors(True)
        self.verticalHeader().hide()
        self.verticalHeader().setMinimumSectionSize(touch())
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self._heads = list(heads)
        self._rows: list[tuple[str, ...]] = []
        modes = QHeaderView.ResizeMode
        for column in range(len(heads)):
            self.horizontalHeader().setSectionResizeMode(
                column, modes.Stretch if column in wide else modes.ResizeToContents
            )

    def show_rows(self, rows: Sequence[tuple[str, ...]]) -> None:
        """Show rows; the chosen one stays chosen. Nothing is done where nothing changed."""
        shown = [tuple(said(text) for text in row) for row in rows]
        if shown == self._rows:
            return
        self._rows = shown
        chosen = self.currentRow()
        self.blockSignals(True)  # noqa: FBT003 - Qt takes it so
        self.setRowCount(len(rows))
        for r, row in enumerate(shown):
            for c, text in enumerate(row):
                item = QTableWidgetItem(text)
                head = self._heads[c]
                item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{head}: {text or tr('nothing')}")
                item.setToolTip(text)
                self.setItem(r, c, item)
        if rows:
            self.setCurrentCell(min(max(chosen, 0), len(rows) - 1), 0)
        self.blockSignals(False)  # noqa: FBT003 - Qt takes it so
