"""The readouts side by side in the order of the test ports, in two rows where they must be."""

from __future__ import annotations

import math

from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import QGridLayout, QWidget

from gaugebench.desk.live.readings import Readings
from gaugebench.desk.live.readout import Readout
from gaugebench.desk.plot.plan import plan
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Theme
from gaugebench.model.band import Band
from gaugebench.model.role import Role


class ReadoutRow(QWidget):
    """All readouts of a kit."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.theme = theme
        self.readouts: list[Readout] = []
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(6)
        self._columns = 0

    def show_readings(self, readings: Readings) -> None:
        """Build a readout for every channel; what was there goes."""
        for old in self.readouts:
            self._grid.removeWidget(old)
            old.hide()  # it goes later, and must not show through until then
            old.deleteLater()
        channels = [r.channel for r in readings.readings]
        lines = {line.index: line for pane in plan(channels) for line in pane.lines}
        looks = [(lines[i].role, lines[i].place) for i in range(len(channels))]
        self.readouts = [
            Readout(reading, self.theme.colour(*look), self.theme.shape(*look), self.theme)
            for reading, look in zip(readings.readings, looks, strict=True)
        ]
        self._columns = 0
        self._arrange()

    def aim(self, role: Role | None, band: Band | None) -> None:
        """Show the band that is wanted at the readout of this role, and at no other."""
        for readout in self.readouts:
            is_meant = role is not None and readout.reading.channel.role == role
            readout.band = band if is_meant else None

    def renew(self, shown: Shown, *, speak: bool) -> None:
        """Show the readings as they stand."""
        is_new_unit = any(readout.shown != shown for readout in self.readouts)
        for readout in self.readouts:
            readout.renew(shown, speak=speak)
        if is_new_unit:
            self._arrange()  # a longer unit leaves less room for digits

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        """Now the width counts."""
        super().showEvent(event)
        self._arrange()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        """Rearrange for the new width."""
        super().resizeEvent(event)
        self._arrange()

    def _arrange(self) -> None:
        if not self.readouts:
            return
        least = max(r.least_width() for r in self.readouts) + self._grid.spacing()
        fit = max(self.width() // least, 1)
        # Two rows at most: beyond that the digits give way, so that the picture keeps its place.
        rows = 1 if fit >= len(self.readouts) else 2
        columns = math.ceil(len(self.readouts) / rows)
        wide = self.width() // columns - self._grid.spacing()
        # Out of sight the width means nothing yet, and a guess must not stretch the window.
        is_beside = not self.isVisible() or wide >= max(r.beside_width() for r in self.readouts)
        for readout in self.readouts:
            readout.put_beside(is_beside=is_beside)
        if columns == self._columns:
            return
        self._columns = columns
        for index, readout in enumerate(self.readouts):
            self._grid.addWidget(readout, index // columns, index % columns)
            readout.setMinimumWidth(60)
        for column in range(self._grid.columnCount()):
            self._grid.setColumnStretch(column, 1 if column < columns else 0)
