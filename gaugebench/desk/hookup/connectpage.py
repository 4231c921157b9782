"""Step 4: the kit is connected to this computer, its zeros are taken, its scale is checked."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QVBoxLayout, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.hookup.parts import heading, line, said
from gaugebench.desk.words import tr


class ConnectPage(QWidget):
    """Connect, zeros, known pressure, and where records go."""

    folder_chosen = Signal(Path)

    def __init__(self) -> None:
        super().__init__()
        self.connect_button = button(tr("Connect"), tr("Open the kit and read it"))
        self.zero_button = button(tr("Take zeros"), tr("Take the zero of every released pressure"))
        self.known = line(tr("Known pressure"), tr("for example 100 bar"))
        self.known_button = button(
            tr("Check"), tr("Compare the chosen port with the known pressure")
        )
        self.zeros = said()
        self.known_said = said()
        self.where = said()
        self.room = said()
        self.folder_button = button(tr("Records go to…"), tr("Choose the folder for records"))
        self._folder = Path.home()
        self._lay_out()
        self.folder_button.clicked.connect(self._ask)

    def show_folder(self, folder: Path, room: str) -> None:
        """Where records go, and how long there is room for them."""
        self._folder = folder
        self.where.setText(str(folder))
        self.where.setAccessibleName(tr("Records go to {folder}", folder=str(folder)))
        self.room.setText(room)

    def _ask(self) -> None:
        chosen = QFileDialog.getExistingDirectory(
            self, tr("Choose the folder for records"), str(self._folder)
        )
        if chosen:
            self.folder_chosen.emit(Path(chosen))

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 6, 0)
        column.addWidget(heading(tr("Connect the kit to this computer")))
        column.addWidget(self.connect_button)
        column.addWidget(heading(tr("Zeros")))
        column.addWidget(
            said(tr("Engine off, every line released and open to the air or to a vented tank."))
        )
        column.addWidget(self.zero_button)
        column.addWidget(self.zeros)
        column.addWidget(heading(tr("A pressure that you know")))
        column.addWidget(
            said(tr("With a hand pump and gauge on one port: choose it in the table."))
        )
        row = QHBoxLayout()
        row.addWidget(self.known, 1)
        row.addWidget(self.known_button)
        column.addLayout(row)
        column.addWidget(self.known_said)
        column.addStretch(1)
        column.addWidget(self.folder_button)
        column.addWidget(self.where)
        column.addWidget(self.room)
