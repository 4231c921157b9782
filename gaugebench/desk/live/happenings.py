"""What has happened, newest first, in words: beside the picture, so that no label is lost."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from gaugebench.desk.names import mark_title
from gaugebench.desk.shown import Shown
from gaugebench.desk.words import tr
from gaugebench.model.mark import Mark, Standing
from gaugebench.quantity import Dimension

MOST = 60


class Happenings(QWidget):
    """The newest marks. A provisional one is in italics with a hollow dot and says so."""

    def __init__(self) -> None:
        super().__init__()
        title = QLabel(tr("What happened"))
        title.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
        self.list = QListWidget()
        self.list.setAccessibleName(tr("Marks so far, newest first"))
        self.list.setProperty("quiet", True)  # noqa: FBT003 - Qt takes it so
        self.list.setSelectionMode(QListWidget.SelectionMode.NoSelection)
        self.list.setWordWrap(True)
        self.list.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(title)
        column.addWidget(self.list, 1)
        self._marks: tuple[Mark, ...] = ()
        self._shown = Shown()

    def show_marks(self, marks: tuple[Mark, ...], shown: Shown) -> None:
        """Show these; nothing is done where nothing changed. Items are used again."""
        newest = tuple(reversed(marks[-MOST:]))
        if newest == self._marks and shown == self._shown:
            return
        self._marks, self._shown = newest, shown
        while self.list.count() > len(newest):
            self.list.takeItem(self.list.count() - 1)
        while self.list.count() < len(newest):
            self.list.addItem(QListWidgetItem())
        for row, mark in enumerate(newest):
            item = self.list.item(row)
            is_sure = mark.standing is not Standing.PROVISIONAL
            item.setText(f"{'●' if is_sure else '○'} {line(mark, shown)}")
            font = self.list.font()
            font.setItalic(not is_sure)
            item.setFont(font)


def line(mark: Mark, shown: Shown) -> str:
    """A mark as one line: when, what, at which pressure."""
    when = shown.text(mark.time_s, Dimension.TIME, 2)
    text = f"{when}  {mark_title(mark)}"
    if mark.pressure_pa is not None:
        text += f"  {shown.text(mark.pressure_pa, Dimension.PRESSURE)}"
    return text
