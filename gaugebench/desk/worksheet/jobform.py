"""Which machine, which job, its notes and its traces; starting and resuming a job."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QFormLayout,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QPlainTextEdit,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.buttons import button
from gaugebench.desk.memory import Memory
from gaugebench.desk.words import tr
from gaugebench.desk.worksheet.entries import FIELDS, particulars
from gaugebench.desk.worksheet.parts import Scrolled, heading, words
from gaugebench.model.trace import Particulars


class JobForm(QWidget):
    """What is typed here goes into every record and job that is begun from then on."""

    typed = Signal()
    open_asked = Signal(Path)
    trouble = Signal(str)
    """A sentence; empty where there is none any more."""

    def __init__(self, memory: Memory) -> None:
        super().__init__()
        self.memory = memory
        self.traces: list[Path] = []
        self.lines: dict[str, QLineEdit] = {}
        self._form = QFormLayout()
        for key, title in FIELDS:
            each = QLineEdit(memory.text(f"job/{key}", ""))
            each.setAccessibleName(tr(title))
            each.editingFinished.connect(self._typed)
            self.lines[key] = each
            self._form.addRow(tr(title), each)
        self.notes = QPlainTextEdit(memory.text("job/notes", ""))
        self.notes.setAccessibleName(tr("Notes of the job"))
        self.notes.setTabChangesFocus(True)
        self.notes.setMinimumHeight(80)
        self.notes.textChanged.connect(self._typed)
        self.list = QListWidget()
        self.list.setAccessibleName(tr("Traces of the job"))
        self.list.itemActivated.connect(lambda _: self._open())
        self.open_button = button(tr("Open in Review"), tr("Open the chosen trace in Review"))
        self.open_button.clicked.connect(self._open)
        self.new_button = button(tr("New job"), tr("Empty the sheet for another machine"))
        self.begin_button = button(
            tr("Start with a machine sheet…"), tr("Choose a machine sheet and start the job")
        )
        self.practise_button = button(
            tr("Practise on the invented machine"),
            tr("Start a job on the sheet of the invented machine"),
        )
        self.resume_button = button(tr("Resume a job…"), tr("Go on with a job from its file"))
        self.rebuilt = QCheckBox(tr("A pump was rebuilt: run it in before any stall"))
        self.standing = words()
        self._lay_out()
        self._enable()

    @property
    def particulars(self) -> Particulars:
        """What is typed; where the hour meter is no number it is left out."""
        texts = {key: each.text() for key, each in self.lines.items()}
        texts["notes"] = self.notes.toPlainText()
        try:
            found = particulars(texts)
        except ValueError as fault:
            self.trouble.emit(str(fault))
            return particulars({**texts, "hour_meter_h": ""})
        self.trouble.emit("")
        return found

    def add_trace(self, path: Path) -> None:
        """A trace belongs to the job."""
        if path not in self.traces:
            self.traces.append(path)
            self.list.addItem(path.name)
        self.list.setCurrentRow(self.traces.index(path))
        self._enable()

    def clear(self) -> None:
        """Another job: the technician stays."""
        for key, each in self.lines.items():
            if key != "technician":
                each.clear()
        self.notes.clear()
        self.clear_traces()
        self._typed()

    def clear_traces(self) -> None:
        """No trace yet."""
        self.traces.clear()
        self.list.clear()
        self._enable()

    def fill(self, found: Particulars) -> None:
        """Show the particulars of a job that is resumed."""
        for key, each in self.lines.items():
            value = getattr(found, key)
            each.setText("" if value is None else f"{value:g}" if value != str(value) else value)
        self._typed()

    def _typed(self) -> None:
        for key, each in self.lines.items():
            self.memory.keep(f"job/{key}", each.text())
        self.memory.keep("job/notes", self.notes.toPlainText())
        self.typed.emit()

    def _open(self) -> None:
        row = self.list.currentRow()
        if 0 <= row < len(self.traces):
            self.open_asked.emit(self.traces[row])

    def _enable(self) -> None:
        self.open_button.setEnabled(bool(self.traces))

    def _lay_out(self) -> None:
        body = QWidget()
        left = QVBoxLayout(body)
        left.addWidget(heading(tr("Machine and job")))
        left.addLayout(self._form)
        left.addWidget(heading(tr("Notes")))
        left.addWidget(self.notes, 1)
        left.addWidget(self.new_button)
        right = QVBoxLayout()
        right.addWidget(heading(tr("Worksheet")))
        right.addWidget(self.standing)
        right.addWidget(self.rebuilt)
        right.addWidget(self.begin_button)
        right.addWidget(self.practise_button)
        right.addWidget(self.resume_button)
        right.addWidget(heading(tr("Traces of the job")))
        right.addWidget(self.list, 1)
        right.addWidget(self.open_button)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(Scrolled(body, tr("Machine and job")), 1)
        row.addLayout(right, 1)
