"""The picture of a trace: pan, zoom, box zoom; every redraw from the pyramids."""

from __future__ import annotations

import pyqtgraph as pg
from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from gaugebench.desk.plot.drawn import DrawnPanes
from gaugebench.desk.plot.spans import SpanLayer
from gaugebench.desk.review.opened import Opened
from gaugebench.desk.theme import Theme
from gaugebench.desk.units import Units
from gaugebench.model.figures import Window

LEAST_VIEW_S = 0.01


class ReviewPicture(DrawnPanes):
    """Panes of an opened trace."""

    clicked = Signal(float)
    """The picture was clicked at this instant, s."""

    def __init__(self, units: Units, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(units, theme, parent)
        self._opened: Opened | None = None
        self.spans: list[SpanLayer] = []
        self.is_boxing = False
        self.scene().sigMouseClicked.connect(self._was_clicked)

    def open(self, opened: Opened) -> None:
        """Show a trace, whole."""
        self._opened = opened
        self.sources = opened.pyramids
        self.lay_out([s.channel for s in opened.trace.series])
        start, end = opened.span_s
        air = 0.01 * (end - start)
        self.spans = []
        for pane in self.panes:
            layer = SpanLayer(pane.box, self.theme)
            layer.gaps = tuple((g.start_s, g.end_s) for g in opened.trace.gaps)
            self.spans.append(layer)
            pane.box.setLimits(xMin=start - air, xMax=end + air, minXRange=LEAST_VIEW_S)
            pane.box.sigRangeChangedManually.connect(pane.set_free)
        self.set_moving(True)
        self.set_boxing(self.is_boxing)
        self.set_marks(opened.marks)
        self.whole()

    def whole(self) -> None:
        """Show the whole trace."""
        if self._opened is not None:
            start, end = self._opened.span_s
            self.go(start, end)

    def go(self, start_s: float, end_s: float) -> None:
        """Show a stretch, with axes that hold it."""
        for pane in self.panes:
            pane.is_free = False
        self.set_view(start_s, end_s)
        self.renew()

    def zoom(self, factor: float) -> None:
        """Show `factor` times as much, about the middle."""
        start, end = self.view
        middle, half = (start + end) / 2, (end - start) / 2 * factor
        self.set_view(middle - half, middle + half)

    def pan(self, share: float) -> None:
        """Move by a share of what is shown."""
        start, end = self.view
        step = share * (end - start)
        self.set_view(start + step, end + step)

    def set_boxing(self, is_boxing: bool) -> None:
        """Whether dragging draws a box to zoom into, instead of moving the picture."""
        self.is_boxing = is_boxing
        for pane in self.panes:
            pane.box.setMouseMode(pane.box.RectMode if is_boxing else pane.box.PanMode)

    def show_samples(self, window: Window | None) -> None:
        """Tint the samples that a figure was taken from, and bring them into view."""
        for layer in self.spans:
            layer.set_window(window)
        if window is None:
            return
        start, end = self.view
        if window.start_s < start or window.end_s > end:
            air = max(window.end_s - window.start_s, 0.5)
            self.go(window.start_s - air, window.end_s + air)

    def _was_clicked(self, event: pg.GraphicsScene.mouseEvents.MouseClickEvent) -> None:
        for pane in self.panes:
            if pane.box.sceneBoundingRect().contains(event.scenePos()):
                self.clicked.emit(float(pane.box.mapSceneToView(event.scenePos()).x()))
                return
