"""The marks of a trace as a list: choose, add, move, note, delete."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QGridLayout,
    QLineEdit,
    QListWidget,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.buttons import button
from gaugebench.desk.live.happenings import line
from gaugebench.desk.shown import Shown
from gaugebench.desk.words import tr
from gaugebench.model.mark import Mark


class MarkList(QWidget):
    """Emits what is asked; the place does it, so that it can be undone."""

    chosen = Signal(str)
    add = Signal(str)
    move_here = Signal(str)
    note = Signal(str, str)
    delete = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self._marks: tuple[Mark, ...] = ()
        self.list = QListWidget()
        self.list.setAccessibleName(tr("Marks in order of time"))
        self.list.setWordWrap(True)
        self.text = QLineEdit()
        self.text.setPlaceholderText(tr("Note"))
        self.text.setAccessibleName(tr("Note of a mark"))
        self.add_button = button(tr("Add here"), tr("Add a mark at cursor A, else mid-view (M)"))
        self.move_button = button(
            tr("Move here"), tr("Move the chosen mark to cursor A, or mid-view")
        )
        self.note_button = button(tr("Set note"), tr("Write the note to the chosen mark"))
        self.delete_button = button(tr("Delete"), tr("Delete the chosen mark (Del)"))
        grid = QGridLayout()
        for place, each in enumerate(
            (self.add_button, self.move_button, self.note_button, self.delete_button)
        ):
            grid.addWidget(each, place // 2, place % 2)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.list, 1)
        column.addWidget(self.text)
        column.addLayout(grid)
        self.list.currentItemChanged.connect(lambda *_: self._chosen())
        self.add_button.clicked.connect(lambda: self.add.emit(self.text.text().strip()))
        self.move_button.clicked.connect(self._move)
        self.delete_button.clicked.connect(self._delete)
        self.note_button.clicked.connect(self._note)
        self._enable()

    @property
    def current(self) -> str | None:
        """The key of the chosen mark."""
        row = self.list.currentRow()
        return self._marks[row].key if 0 <= row < len(self._marks) else None

    def show_marks(self, marks: tuple[Mark, ...], shown: Shown) -> None:
        """Show these; what was chosen stays chosen."""
        kept = self.current
        self._marks = marks
        self.list.blockSignals(True)  # noqa: FBT003 - Qt takes it so
        self.list.clear()
        for mark in marks:
            self.list.addItem(line(mark, shown))
            if mark.key == kept:
                self.list.setCurrentRow(self.list.count() - 1)
        self.list.blockSignals(False)  # noqa: FBT003 - Qt takes it so
        self._enable()

    def choose(self, key: str) -> None:
        """Choose a mark."""
        for row, mark in enumerate(self._marks):
            if mark.key == key:
                self.list.setCurrentRow(row)

    def _chosen(self) -> None:
        self._enable()
        if self.current is not None:
            self.chosen.emit(self.current)

    def _enable(self) -> None:
        for each in (self.move_button, self.note_button, self.delete_button):
            each.setEnabled(self.current is not None)

    def _move(self) -> None:
        if self.current is not None:
            self.move_here.emit(self.current)

    def _delete(self) -> None:
        if self.current is not None:
            self.delete.emit(self.current)

    def _note(self) -> None:
        if self.current is not None:
            self.note.emit(self.current, self.text.text().strip())
