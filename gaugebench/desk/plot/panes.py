"""Panes one below the other with one time axis."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from gaugebench.desk.plot.pane import Pane
from gaugebench.desk.plot.plan import PaneSpec, plan
from gaugebench.desk.plot.pyramid import Polyline
from gaugebench.desk.theme import Theme
from gaugebench.desk.units import Units
from gaugebench.model.channel import Channel
from gaugebench.model.mark import Mark

LONG_S = 180.0
"""From this length of view, or this far into a trace, instants are written in h:min:s."""


class Panes(pg.GraphicsLayoutWidget):  # type: ignore[misc]  # pyqtgraph is untyped
    """The stack of panes for a row of channels, which share their time axis."""

    moved = Signal(float, float)
    """The time range changed: first and last instant in view, s."""

    def __init__(self, units: Units, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self.units, self.theme = units, theme
        self.panes: list[Pane] = []
        self._where: dict[int, tuple[Pane, int]] = {}
        self.setBackground(theme.panel)
        self.setFrameShape(self.Shape.NoFrame)
        self.ci.layout.setSpacing(4)
        self.ci.layout.setContentsMargins(2, 4, 2, 2)
        units.changed.connect(self._show_units)

    def lay_out(self, channels: Sequence[Channel]) -> None:
        """Build the panes for these channels; what was there goes."""
        self.build(plan(channels))

    def build(self, specs: Sequence[PaneSpec]) -> None:
        """Build these panes; what was there goes."""
        self.clear()
        self.panes, self._where = [], {}
        for row, spec in enumerate(specs):
            pane = Pane(spec, self.theme, is_first=row == 0, is_last=row == len(specs) - 1)
            self.addItem(pane.plot, row=row, col=0)
            self.ci.layout.setRowStretchFactor(row, spec.weight)
            self.panes.append(pane)
            for place, line in enumerate(spec.lines):
                self._where[line.index] = (pane, place)
            if row:
                pane.box.setXLink(self.panes[0].box)
        if self.panes:
            self.panes[0].box.sigXRangeChanged.connect(self._x_changed)
            self.panes[0].box.sigResized.connect(self._x_changed)  # other columns
        self._show_units()

    @property
    def view(self) -> tuple[float, float]:
        """First and last instant in view, s."""
        if not self.panes:
            return 0.0, 1.0
        low, high = self.panes[0].box.viewRange()[0]
        return float(low), float(high)

    @property
    def columns(self) -> int:
        """The width of a pane in the screen's own pixels."""
        if not self.panes:
            return 64
        return max(int(self.panes[0].box.width() * self.devicePixelRatioF()), 64)

    def set_view(self, start_s: float, end_s: float) -> None:
        """Show this stretch of time."""
        if self.panes:
            self.panes[0].box.setXRange(start_s, end_s, padding=0)

    def set_line(self, index: int, data: Polyline) -> None:
        """The line of channel `index`."""
        pane, place = self._where[index]
        pane.set_line(place, data)

    def set_values(self, values: Sequence[float]) -> None:
        """The value of every channel, written at the end of its line."""
        for pane in self.panes:
            pane.set_values([values[s.index] for s in pane.spec.lines])

    def set_marks(self, marks: tuple[Mark, ...]) -> None:
        """Show these marks in every pane."""
        for pane in self.panes:
            pane.set_marks(marks)

    def set_limits(self, index: int | None, limits: tuple[float, float] | None) -> None:
        """Tint a band (inside unit) under channel `index`, and nowhere else."""
        chosen = self._where[index][0] if index is not None and limits is not None else None
        for pane in self.panes:
            pane.limits.set_limits(limits if pane is chosen else None)

    def choose(self, key: str | None) -> None:
        """Draw one mark stronger than the others."""
        for pane in self.panes:
            pane.marks.choose(key)

    def fit(self) -> None:
        """Let every axis hold what is shown."""
        for pane in self.panes:
            pane.fit(*pane.extremes())

    def set_moving(self, is_by_hand: bool) -> None:
        """Whether the mouse pans and zooms in time."""
        for pane in self.panes:
            pane.box.setMouseEnabled(x=is_by_hand, y=False)

    def _show_units(self) -> None:
        for pane in self.panes:
            pane.show_in(self.units.shown)

    def _x_changed(self, *_: object) -> None:
        start, end = self.view
        if self.panes:
            is_long = end - start > LONG_S or abs(start) > 10 * LONG_S
            self.panes[-1].time.set_long(bool(np.isfinite(end)) and is_long)
        self.moved.emit(start, end)
