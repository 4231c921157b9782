"""What is drawn over a pane in its own pixels: one item each, however much it draws."""

from __future__ import annotations

from functools import cache

import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QPolygonF

from gaugebench.desk.theme import Shape


class Layer(pg.GraphicsObject):  # type: ignore[misc]  # pyqtgraph is untyped
    """Base: covers a view box, and turns its quantities into its pixels."""

    def __init__(self, box: pg.ViewBox, height: float) -> None:
        super().__init__()
        self.box = box
        self.setParentItem(box)
        self.setZValue(height)
        box.sigRangeChanged.connect(self._moved)
        box.sigResized.connect(self._moved)

    def _moved(self, *_: object) -> None:
        self.prepareGeometryChange()
        self.update()

    def boundingRect(self) -> QRectF:  # noqa: N802 - Qt's name
        """The whole view box."""
        size = self.box.rect()
        return QRectF(0.0, 0.0, size.width(), size.height())

    def scales(self) -> tuple[float, float, float, float]:
        """(ax, bx, ay, by) with `pixel_x = ax * x + bx` and `pixel_y = ay * y + by`."""
        (left, right), (bottom, top) = self.box.viewRange()
        size = self.box.rect()
        ax = size.width() / ((right - left) or 1.0)
        ay = -size.height() / ((top - bottom) or 1.0)
        return ax, -left * ax, ay, -top * ay


@cache
def pen(colour: str, width: float = 1.0, *, dashed: bool = False) -> QPen:
    """An opaque pen of a width in pixels."""
    made = QPen(QColor(colour))
    made.setWidthF(width)
    made.setCosmetic(True)
    if dashed:
        made.setDashPattern([5.0, 4.0])
    return made


def shape_path(shape: Shape, size: float) -> QPainterPath:
    """A shape around the origin, `size` across."""
    half = size / 2
    path = QPainterPath()
    match shape:
        case Shape.DISC:
            path.addEllipse(QPointF(0.0, 0.0), half, half)
        case Shape.SQUARE:
            path.addRect(QRectF(-half * 0.9, -half * 0.9, size * 0.9, size * 0.9))
        case Shape.TRIANGLE:
            path.addPolygon(
                QPolygonF([QPointF(0, -half), QPointF(half, half), QPointF(-half, half)])
            )
            path.closeSubpath()
        case Shape.DIAMOND:
            path.addPolygon(
                QPolygonF(
                    [QPointF(0, -half), QPointF(half, 0), QPointF(0, half), QPointF(-half, 0)]
                )
            )
            path.closeSubpath()
        case Shape.CROSS:
            third = half / 3
            path.addRect(QRectF(-half, -third, size, 2 * third))
            path.addRect(QRectF(-third, -half, 2 * third, size))
    return path.simplified()


def draw_shape(painter: QPainter, at: QPointF, path: QPainterPath, fill: str, edge: str) -> None:
    """A filled shape with an edge that sets it off from its line."""
    painter.setPen(pen(edge))
    painter.setBrush(QColor(fill))
    painter.drawPath(path.translated(at))
