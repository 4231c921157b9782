"""Stretches of time under the lines: missing samples, and what a figure was taken from."""

from __future__ import annotations

import pyqtgraph as pg
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter

from gaugebench.desk.plot.layer import Layer, pen
from gaugebench.desk.theme import Theme
from gaugebench.desk.words import tr
from gaugebench.model.figures import Window

LEAST_PX = 3.0


class SpanLayer(Layer):
    """Gaps hatched, with a word where there is room; the samples of a figure tinted."""

    def __init__(self, box: pg.ViewBox, theme: Theme) -> None:
        super().__init__(box, 1.0)
        self.theme = theme
        self.gaps: tuple[tuple[float, float], ...] = ()
        self.window: Window | None = None

    def set_window(self, window: Window | None) -> None:
        """The samples to tint."""
        self.window = window
        self.update()

    def paint(self, painter: QPainter, *_options: object) -> None:
        """Gaps, then the window."""
        box = self.boundingRect()
        for start, end in self.gaps:
            where = self._where(start, end, box)
            if where is None:
                continue
            painter.fillRect(where, QBrush(QColor(self.theme.muted), Qt.BrushStyle.BDiagPattern))
            if where.width() > 60:
                painter.setPen(QColor(self.theme.text))
                painter.drawText(where, Qt.AlignmentFlag.AlignCenter, tr("no samples"))
        if self.window is not None:
            where = self._where(self.window.start_s, self.window.end_s, box)
            if where is not None:
                painter.fillRect(where, QColor(self.theme.span))
                painter.setPen(pen(self.theme.accent, 2.0))
                painter.drawLine(where.topLeft(), where.bottomLeft())
                painter.drawLine(where.topRight(), where.bottomRight())

    def _where(self, start: float, end: float, box: QRectF) -> QRectF | None:
        ax, bx, _, _ = self.scales()
        left, right = start * ax + bx, end * ax + bx
        right = max(right, left + LEAST_PX)
        if right < 0 or left > box.width():
            return None
        left, right = max(left, -5.0), min(right, box.width() + 5.0)
        return QRectF(left, 0.0, right - left, box.height())
