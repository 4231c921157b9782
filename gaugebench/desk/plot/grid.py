"""The grid of a pane: opaque lines at the numbered ticks of its axes."""

from __future__ import annotations

import pyqtgraph as pg
from PySide6.QtCore import QLineF
from PySide6.QtGui import QPainter

from gaugebench.desk.plot.layer import Layer, pen
from gaugebench.desk.theme import Theme


class GridLayer(Layer):
    """Under everything else."""

    def __init__(
        self, box: pg.ViewBox, upright: pg.AxisItem, along: pg.AxisItem, theme: Theme
    ) -> None:
        super().__init__(box, 0.0)
        self.upright, self.along, self.theme = upright, along, theme

    def paint(self, painter: QPainter, *_options: object) -> None:
        """Lines at the coarsest level of ticks."""
        ax, bx, ay, by = self.scales()
        box = self.boundingRect()
        (left, right), (bottom, top) = self.box.viewRange()
        lines = [
            QLineF(0.0, y * ay + by, box.width(), y * ay + by)
            for y in _coarse(self.upright, bottom, top, box.height())
        ]
        lines += [
            QLineF(x * ax + bx, 0.0, x * ax + bx, box.height())
            for x in _coarse(self.along, left, right, box.width())
        ]
        painter.setPen(pen(self.theme.grid))
        painter.drawLines(lines)


def _coarse(axis: pg.AxisItem, low: float, high: float, size: float) -> list[float]:
    levels = axis.tickValues(low, high, size)
    return [float(v) for v in levels[0][1]] if levels else []
