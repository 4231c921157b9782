"""How the sources of an open kit do, what they advise, and where a lost one is now."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.hookup.parts import said, show_trouble
from gaugebench.desk.live.health import source_words
from gaugebench.desk.words import tr


class SourceBar(QWidget):
    """A sentence for each source; with a row to say where one that is gone is now."""

    port_told = Signal(str, str)
    """A source, and the port on which it is now."""

    def __init__(self) -> None:
        super().__init__()
        self._labels: list[QLabel] = []
        self._lost = ""
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self.rescue = QWidget()
        row = QHBoxLayout(self.rescue)
        row.setContentsMargins(0, 0, 0, 0)
        self.asked = said()
        self.port = QComboBox()
        self.port.setEditable(True)
        self.port.setAccessibleName(tr("The port on which the lost source is now"))
        self.told_button = button(tr("It is here"), tr("Read the lost source on this port"))
        row.addWidget(self.asked, 1)
        row.addWidget(self.port)
        row.addWidget(self.told_button)
        self._column.addWidget(self.rescue)
        self.rescue.hide()
        self.told_button.clicked.connect(self._tell)

    def set_ports(self, ports: Sequence[str]) -> None:
        """Offer these ports; what is typed stays typed."""
        if [self.port.itemText(n) for n in range(self.port.count())] != list(ports):
            now = self.port.currentText()
            self.port.clear()
            self.port.addItems(list(ports))
            self.port.setEditText(now or (ports[0] if ports else ""))

    def show_health(self, health: Sequence[object], with_ports: Sequence[str]) -> None:
        """How each source does. with_ports: the names of those that sit on a serial port."""
        words = source_words(health)
        while len(self._labels) < len(words):
            label = said()
            self._labels.append(label)
            self._column.insertWidget(len(self._labels) - 1, label)
        for label, one in zip(self._labels, [*words, *[("", True)] * len(self._labels)]):  # noqa: B905
            text, is_well = one
            if label.text() != text:
                label.setText(text)
                label.setAccessibleName(text)
            label.setVisible(bool(text))
            show_trouble(label, is_trouble=not is_well)
        gone = [str(getattr(h, "name", "")) for h in health if not getattr(h, "alive", True)]
        lost = next((name for name in gone if name in with_ports), "")
        if lost != self._lost:
            self._lost = lost
            self.asked.setText(tr("Is “{name}” on another port now?", name=lost))
        self.rescue.setVisible(bool(lost))

    def _tell(self) -> None:
        port = self.port.currentText().strip()
        if self._lost and port:
            self.port_told.emit(self._lost, port)
