"""The one place that knows which units are shown; whoever shows a number listens to it."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

from gaugebench.desk.shown import PRESSURES, Shown


class Units(QObject):
    """The units shown. `changed` is emitted once for every switch."""

    changed = Signal()

    def __init__(self, pressure: str = "bar", parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._shown = Shown(pressure if pressure in PRESSURES else "bar")

    @property
    def shown(self) -> Shown:
        """The choice that stands."""
        return self._shown

    def set_pressure(self, symbol: str) -> None:
        """Show pressures in another unit. Raises `KeyError` for one that is not offered."""
        PRESSURES[symbol]
        if symbol != self._shown.pressure:
            self._shown = Shown(symbol)
            self.changed.emit()
