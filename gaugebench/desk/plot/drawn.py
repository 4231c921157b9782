"""Panes that draw themselves anew from pyramids whenever their view moves."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QWidget

from gaugebench.desk.plot.panes import Panes
from gaugebench.desk.plot.pyramid import Lines
from gaugebench.desk.theme import Theme
from gaugebench.desk.units import Units


class DrawnPanes(Panes):
    """Panes over `sources`, one for each line, in order."""

    def __init__(self, units: Units, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(units, theme, parent)
        self.sources: Sequence[Lines] = ()
        self._is_drawing = False
        self._drawn_for: tuple[float, float, int] | None = None
        self.moved.connect(self.draw)

    def draw(self, start_s: float, end_s: float) -> None:
        """Draw this stretch; nothing is done where it is drawn already."""
        wanted = (start_s, end_s, self.columns)
        if self._is_drawing or not self.panes or wanted == self._drawn_for:
            return
        self._is_drawing, self._drawn_for = True, wanted
        try:
            for index, source in enumerate(self.sources):
                self.set_line(index, source.line(start_s, end_s, wanted[2]))
            self.fit()
        finally:
            self._is_drawing = False

    def renew(self) -> None:
        """Draw anew, after other sources came."""
        self._drawn_for = None
        self.draw(*self.view)
