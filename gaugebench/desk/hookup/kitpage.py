"""Step 1: which kit. Chosen again in one step, opened from a file, or put together from sources."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from gaugebench.desk.buttons import button
from gaugebench.desk.hookup.parts import heading
from gaugebench.desk.hookup.shelf import Shelf
from gaugebench.desk.hookup.sources import SourcesPane
from gaugebench.desk.scale import touch
from gaugebench.desk.words import tr

_ROWS = 3


class KitPage(QWidget):
    """Kits used lately, kit files, the kit's name and its sources."""

    open_asked = Signal(Path)
    save_asked = Signal(object)
    """Save to this path, or to the kit's own file where it is None."""

    def __init__(self, shelf: Shelf, sources: SourcesPane) -> None:
        super().__init__()
        self.shelf, self.sources = shelf, sources
        self.recent = QListWidget()
        self.recent.setAccessibleName(tr("Kits used lately"))
        self.name = QLineEdit()
        self.name.setAccessibleName(tr("Name of the kit"))
        self.name.setPlaceholderText(tr("Name of the kit"))
        self.open_button = button(tr("Open kit…"), tr("Open a kit file (Ctrl+K)"))
        self.save_button = button(tr("Save kit"), tr("Save the kit, to be chosen again here"))
        self.save_as_button = button(tr("Save as…"), tr("Save the kit to another file"))
        self.practise_button = button(tr("Practise"), tr("Open a simulated kit to practise on"))
        self._lay_out()
        self.recent.itemActivated.connect(self._chosen)
        self.recent.itemClicked.connect(self._chosen)
        self.open_button.clicked.connect(self._ask_open)
        self.save_button.clicked.connect(lambda: self.save_asked.emit(None))
        self.save_as_button.clicked.connect(self._ask_save)
        self.renew()

    def renew(self) -> None:
        """The kits used lately as they are now."""
        self.recent.clear()
        for path in self.shelf.kits:
            item = QListWidgetItem(path.stem)
            item.setToolTip(str(path))
            item.setData(Qt.ItemDataRole.UserRole, str(path))
            self.recent.addItem(item)
        rows = self.recent.count()
        self.recent.setVisible(rows > 0)
        self.recent.setFixedHeight((min(rows, _ROWS) or 1) * (touch() + 2) + 8)
        self._lately.setVisible(rows > 0)

    def _chosen(self, item: QListWidgetItem) -> None:
        self.open_asked.emit(Path(str(item.data(Qt.ItemDataRole.UserRole))))

    def _ask_open(self) -> None:
        folder = str(self.shelf.kits[0].parent) if self.shelf.kits else str(Path.home())
        chosen, _ = QFileDialog.getOpenFileName(
            self, tr("Open a kit"), folder, f"{tr('Kits')} (*.toml)"
        )
        if chosen:
            self.open_asked.emit(Path(chosen))

    def _ask_save(self) -> None:
        name = str(Path.home() / f"{self.name.text().strip() or 'kit'}.toml")
        chosen, _ = QFileDialog.getSaveFileName(
            self, tr("Save the kit"), name, f"{tr('Kits')} (*.toml)"
        )
        if chosen:
            self.save_asked.emit(Path(chosen))

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 6, 0)
        self._lately = heading(tr("Kits used lately"))
        column.addWidget(self._lately)
        column.addWidget(self.recent)
        row = QHBoxLayout()
        row.addWidget(self.open_button, 1)
        row.addWidget(self.practise_button, 1)
        column.addLayout(row)
        named = QHBoxLayout()
        named.addWidget(QLabel(tr("Kit")))
        named.addWidget(self.name, 1)
        column.addLayout(named)
        saving = QHBoxLayout()
        saving.addWidget(self.save_button, 1)
        saving.addWidget(self.save_as_button, 1)
        column.addLayout(saving)
        column.addWidget(self.sources, 1)
