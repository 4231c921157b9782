"""The band of the check that waits, tinted under the lines of its pane."""

from __future__ import annotations

import math

import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QPainter

from gaugebench.desk.plot.layer import Layer, pen
from gaugebench.desk.theme import Theme

LEAST_PX = 3.0


class LimitLayer(Layer):
    """One band from `low` to `high` (inside unit); an end that is not finite is open."""

    def __init__(self, box: pg.ViewBox, theme: Theme) -> None:
        super().__init__(box, 0.5)
        self.theme = theme
        self.limits: tuple[float, float] | None = None

    def set_limits(self, limits: tuple[float, float] | None) -> None:
        """Show another band, or none."""
        if limits != self.limits:
            self.limits = limits
            self.update()

    def paint(self, painter: QPainter, *_options: object) -> None:
        """A tint with a line at each end."""
        if self.limits is None:
            return
        _, _, ay, by = self.scales()
        box = self.boundingRect()
        low, high = self.limits
        bottom = low * ay + by if math.isfinite(low) else box.bottom()
        top = high * ay + by if math.isfinite(high) else box.top()
        if bottom < box.top() or top > box.bottom():
            return
        bottom = max(bottom, top + LEAST_PX)
        where = QRectF(QPointF(box.left(), top), QPointF(box.right(), bottom)).intersected(box)
        painter.fillRect(where, QColor(self.theme.span))
        painter.setPen(pen(self.theme.accent))
        if math.isfinite(low):
            painter.drawLine(QPointF(box.left(), bottom), QPointF(box.right(), bottom))
        if math.isfinite(high):
            painter.drawLine(QPointF(box.left(), top), QPointF(box.right(), top))
