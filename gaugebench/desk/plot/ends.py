"""The name and value of each line, written where it ends."""

from __future__ import annotations

import math

import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter

from gaugebench.desk.plot.layer import Layer, draw_shape, pen
from gaugebench.desk.plot.lines import LineLayer
from gaugebench.desk.plot.spread import apart
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Theme
from gaugebench.quantity import Dimension

LEAD_PX = 26.0


class EndLayer(Layer):
    """Labels in the margin to the right of a pane."""

    def __init__(
        self, plot: pg.PlotItem, lines: LineLayer, titles: list[str], theme: Theme, margin: float
    ) -> None:
        super().__init__(plot.vb, 30.0)
        self.setParentItem(plot)  # outside the view box, which clips what it holds
        self.lines, self.titles, self.theme, self.margin = lines, titles, theme, margin
        self.shown = Shown()
        self.dimension = Dimension.PRESSURE
        self.values: list[float] = [math.nan] * len(titles)

    def boundingRect(self) -> QRectF:  # noqa: N802 - Qt's name
        """The margin, in the plot's pixels."""
        box = self.box.geometry()
        return QRectF(box.right(), box.top(), self.margin, box.height())

    def set_values(self, values: list[float], shown: Shown, dimension: Dimension) -> None:
        """The value written beside each name; NaN for none."""
        self.values, self.shown, self.dimension = values, shown, dimension
        self.update()

    def paint(self, painter: QPainter, *_options: object) -> None:
        """A shape, a name, and the value, with a lead from the line's end."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = self.boundingRect()
        _, _, ay, by = self.scales()
        font = QFont(painter.font())
        font.setBold(True)
        painter.setFont(font)
        metrics = QFontMetricsF(font)
        ends = [self._end(i, ay, by, box) for i in range(len(self.titles))]
        is_low = box.height() < 2.05 * metrics.height() * len(ends)
        lines = 1.0 if is_low else 2.05
        centres = apart(ends, metrics.height() * lines, box.top(), box.bottom())
        for i, (title, line, centre) in enumerate(
            zip(self.titles, self.lines.lines, centres, strict=True)
        ):
            painter.setPen(pen(line.colour))
            painter.drawLine(
                QPointF(box.left() + 2, ends[i]), QPointF(box.left() + LEAD_PX - 8, centre)
            )
            draw_shape(
                painter,
                QPointF(box.left() + LEAD_PX - 4, centre),
                line.path,
                line.colour,
                line.edge,
            )
            value = self.values[i]
            painter.setPen(QColor(line.colour))
            left = box.left() + LEAD_PX + 6
            wide = box.right() - left
            # Where there is no room for two lines the name stands alone: the readouts say the rest.
            has_text = not (is_low or math.isnan(value))
            text = self.shown.text(value, self.dimension) if has_text else ""
            name = metrics.elidedText(title, Qt.TextElideMode.ElideRight, wide)
            up = QRectF(left, centre - metrics.height(), wide, metrics.height())
            if not text:
                up.translate(0.0, metrics.height() / 2)
            painter.drawText(up, Qt.AlignmentFlag.AlignVCenter, name)
            if text:
                down = up.translated(0.0, metrics.height())
                painter.drawText(down, Qt.AlignmentFlag.AlignVCenter, text)

    def _end(self, index: int, ay: float, by: float, box: QRectF) -> float:
        value = self.values[index]
        if math.isnan(value):
            value = self.lines.lines[index].last
        if math.isnan(value):
            return box.center().y()
        return min(max(value * ay + by, 0.0), box.height()) + box.top()
