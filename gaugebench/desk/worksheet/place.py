"""The Worksheet place: particulars, notes, and the traces of the job."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QPlainTextEdit,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.buttons import button
from gaugebench.desk.memory import Memory
from gaugebench.desk.notice import Notice
from gaugebench.desk.words import tr
from gaugebench.desk.worksheet.entries import FIELDS, particulars
from gaugebench.model.trace import Particulars


class WorksheetPlace(QWidget):
    """What is typed here goes into every record that is made from then on."""

    changed = Signal(object)
    """The `Particulars` as they stand."""
    open_asked = Signal(Path)

    def __init__(self, memory: Memory) -> None:
        super().__init__()
        self.memory = memory
        self.traces: list[Path] = []
        self.notice = Notice()
        self.lines: dict[str, QLineEdit] = {}
        form = QFormLayout()
        for key, title in FIELDS:
            line = QLineEdit(memory.text(f"job/{key}", ""))
            line.setAccessibleName(tr(title))
            line.editingFinished.connect(self._typed)
            self.lines[key] = line
            form.addRow(tr(title), line)
        self.notes = QPlainTextEdit(memory.text("job/notes", ""))
        self.notes.setAccessibleName(tr("Notes of the job"))
        self.notes.setTabChangesFocus(True)
        self.notes.textChanged.connect(self._typed)
        self.list = QListWidget()
        self.list.setAccessibleName(tr("Traces of the job"))
        self.list.itemActivated.connect(lambda _: self._open())
        self.open_button = button(tr("Open in Review"), tr("Open the chosen trace in Review"))
        self.open_button.clicked.connect(self._open)
        self.new_button = button(tr("New job"), tr("Empty the sheet for another machine"))
        self.new_button.clicked.connect(self.clear)
        self._lay_out(form)
        self._enable()

    @property
    def particulars(self) -> Particulars:
        """What is typed; where the hour meter is no number it is left out."""
        texts = {key: line.text() for key, line in self.lines.items()}
        texts["notes"] = self.notes.toPlainText()
        try:
            found = particulars(texts)
        except ValueError as fault:
            self.notice.say(str(fault))
            return particulars({**texts, "hour_meter_h": ""})
        self.notice.clear()
        return found

    def add_trace(self, path: Path) -> None:
        """A record was made."""
        self.traces.append(path)
        self.list.addItem(path.name)
        self.list.setCurrentRow(self.list.count() - 1)
        self._enable()

    def clear(self) -> None:
        """Another job: the technician stays."""
        for key, line in self.lines.items():
            if key != "technician":
                line.clear()
        self.notes.clear()
        self.traces.clear()
        self.list.clear()
        self._typed()
        self._enable()

    def _typed(self) -> None:
        for key, line in self.lines.items():
            self.memory.keep(f"job/{key}", line.text())
        self.memory.keep("job/notes", self.notes.toPlainText())
        self.changed.emit(self.particulars)

    def _open(self) -> None:
        row = self.list.currentRow()
        if 0 <= row < len(self.traces):
            self.open_asked.emit(self.traces[row])

    def _enable(self) -> None:
        self.open_button.setEnabled(bool(self.traces))

    def _lay_out(self, form: QFormLayout) -> None:
        left = QVBoxLayout()
        left.addWidget(_heading(tr("Machine and job")))
        left.addLayout(form)
        left.addWidget(_heading(tr("Notes")))
        left.addWidget(self.notes, 1)
        left.addWidget(self.new_button)
        right = QVBoxLayout()
        right.addWidget(_heading(tr("Traces of the job")))
        right.addWidget(self.list, 1)
        right.addWidget(self.open_button)
        row = QHBoxLayout()
        row.addLayout(left, 1)
        row.addLayout(right, 1)
        column = QVBoxLayout(self)
        column.addWidget(self.notice)
        column.addLayout(row, 1)


def _heading(text: str) -> QLabel:
    made = QLabel(text)
    made.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
    return made
