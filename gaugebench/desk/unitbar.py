"""The pressure unit, switched with one touch from everywhere."""

from __future__ import annotations

from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QPushButton, QWidget

from gaugebench.desk.buttons import button
from gaugebench.desk.shown import PRESSURES
from gaugebench.desk.units import Units
from gaugebench.desk.words import tr


class UnitBar(QWidget):
    """A button for each pressure unit; the one that stands is down."""

    def __init__(self, units: Units) -> None:
        super().__init__()
        self.units = units
        self.buttons: dict[str, QPushButton] = {}
        self._group = QButtonGroup(self)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 6, 2)
        row.setSpacing(2)
        for symbol in PRESSURES:
            made = button(symbol, tr("Show pressures in {unit}", unit=symbol), is_switch=True)
            made.clicked.connect(lambda _=False, s=symbol: units.set_pressure(s))
            self._group.addButton(made)
            self.buttons[symbol] = made
            row.addWidget(made)
        units.changed.connect(self._renew)
        self._renew()

    def _renew(self) -> None:
        self.buttons[self.units.shown.pressure].setChecked(True)
