"""The lines of one pane, drawn by one item in pixels: no antialiasing, pens of width 1."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import pyqtgraph as pg
from pyqtgraph import functions as fn
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPainterPath

from gaugebench.desk.plot.bands import MOST, Canvas, table
from gaugebench.desk.plot.layer import Layer, draw_shape, pen, shape_path
from gaugebench.desk.plot.pyramid import Polyline
from gaugebench.desk.theme import Shape
from gaugebench.model.arrays import F64

SHAPE_PX = 9.0
SHAPE_EVERY_PX = 150.0
_FAR = 1e6  # pixels; beyond this Qt's rasteriser is at risk


@dataclass(slots=True)
class Line:
    """One line: its look, and what it shows now."""

    colour: str
    shape: Shape
    edge: str
    data: Polyline = field(default_factory=lambda: Polyline(np.empty(0), np.empty(0)))
    path: QPainterPath = field(init=False)
    visible: bool = True

    def __post_init__(self) -> None:
        self.path = shape_path(self.shape, SHAPE_PX)

    @property
    def last(self) -> float:
        """The newest value; NaN where there is none."""
        return float(self.data.y[-1]) if len(self.data.y) else float("nan")


class LineLayer(Layer):
    """All lines of one pane."""

    def __init__(self, box: pg.ViewBox) -> None:
        super().__init__(box, 10.0)
        self.lines: list[Line] = []
        self._canvas = Canvas()

    def paint(self, painter: QPainter, *_options: object) -> None:
        """Draw every line, then the shapes that ride on them."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        ax, bx, ay, by = self.scales()
        dots = max(math.ceil(painter.device().devicePixelRatioF()), 1)
        drawn: list[tuple[Line, F64, F64]] = []
        bands: list[tuple[Line, F64, F64]] = []
        for line in self.lines:
            if not line.visible or not len(line.data.x):
                continue
            x = line.data.x * ax + bx
            y = np.clip(line.data.y * ay + by, -_FAR, _FAR)
            drawn.append((line, x, y))
            if line.data.is_columns:
                bands.append(drawn[-1])
        for first in range(0, len(bands), MOST):
            self._bands(painter, bands[first : first + MOST])
        for line, x, y in drawn:
            if line.data.is_columns:
                continue
            painter.setPen(pen(line.colour))
            # Several passes of a pen of 1 are a line of 2 for sunlight, at a fraction of what a
            # wide pen costs.
            for step in range(dots + 1):
                _draw(painter, x + step / dots, y + step / dots)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for number, (line, x, y) in enumerate(drawn):
            self._shapes(painter, line, x, y, number / max(len(drawn), 1), ax)
        painter.setBrush(Qt.BrushStyle.NoBrush)

    def _bands(self, painter: QPainter, bands: list[tuple[Line, F64, F64]]) -> None:
        ratio = painter.device().devicePixelRatioF()
        box = self.box.rect()
        size = (math.ceil(box.width() * ratio), math.ceil(box.height() * ratio))
        if min(size) < 1:
            return
        bits = self._canvas.fill([(x * ratio, y * ratio) for _, x, y in bands], size)
        image = QImage(bits.data, *size, bits.strides[0], QImage.Format.Format_Indexed8)
        image.setColorTable(table([QColor(line.colour).rgba() for line, _, _ in bands]))
        image = image.convertToFormat(QImage.Format.Format_ARGB32_Premultiplied)
        image.setDevicePixelRatio(ratio)
        painter.drawImage(QPointF(0.0, 0.0), image)

    def _shapes(
        self, painter: QPainter, line: Line, x: F64, y: F64, offset: float, ax: float
    ) -> None:
        # Anchored in time, so that shapes move with their line and do not dance along it.
        every = SHAPE_EVERY_PX
        if ax <= 0:
            return
        step_s = every / ax
        step_s = 2.0 ** np.ceil(np.log2(step_s))  # the same instants while the window is panned
        start = line.data.x[0]
        at = np.arange(np.ceil(start / step_s - offset), line.data.x[-1] / step_s - offset) + offset
        for index in np.searchsorted(line.data.x, at * step_s):
            if index < len(y) and np.isfinite(y[index]):
                draw_shape(painter, QPointF(x[index], y[index]), line.path, line.colour, line.edge)


def _draw(painter: QPainter, x: F64, y: F64) -> None:
    holes = np.flatnonzero(~np.isfinite(y))
    if not len(holes):
        _run(painter, x, y)
        return
    previous = 0
    for hole in [*holes, len(y)]:
        if hole > previous:
            _run(painter, x[previous:hole], y[previous:hole])
        previous = int(hole) + 1


def _run(painter: QPainter, x: F64, y: F64) -> None:
    if len(x) == 1:
        painter.drawPoint(QPointF(x[0], y[0]))  # a lone sample between two gaps is still seen
        return
    painter.drawPolyline(fn.arrayToQPolygonF(x, y))
