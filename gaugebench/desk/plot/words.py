"""What is written at the marks, in a strip of its own above the first pane: no word on a line."""

from __future__ import annotations

import pyqtgraph as pg
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter

from gaugebench.desk.names import mark_title
from gaugebench.desk.plot.layer import Layer, pen
from gaugebench.desk.plot.marks import MarkLayer
from gaugebench.desk.plot.spread import rows
from gaugebench.model.mark import Mark, Standing
from gaugebench.quantity import Dimension

ROWS = 3
PAD = 4.0
MOST = 60
"""Of the marks in view so many, the most important ones, are tried for words."""


class WordLayer(Layer):
    """The words of the marks in view; those with no room are in the list beside the picture."""

    def __init__(self, plot: pg.PlotItem, marks: MarkLayer, height: float) -> None:
        super().__init__(plot.vb, 40.0)
        self.setParentItem(plot)  # outside the view box, which clips what it holds
        self.marks, self.height = marks, height

    def boundingRect(self) -> QRectF:  # noqa: N802 - Qt's name
        """The strip above the view box, in the plot's pixels."""
        box = self.box.geometry()
        return QRectF(box.left(), box.top() - self.height, box.width(), self.height)

    def paint(self, painter: QPainter, *_options: object) -> None:
        """Words in rows, each at the line of its mark."""
        where = self.boundingRect()
        self.marks.draw_lines(painter, where.left(), where.top(), where.bottom())
        seen = self.marks.seen(MOST)
        if not seen:
            return
        metrics = QFontMetricsF(painter.font())
        high = where.height() / ROWS
        known = self.marks.words
        for mark, _ in seen:
            if mark.key not in known:
                text = self.text(mark)
                known[mark.key] = text, metrics.horizontalAdvance(text) + 3 * PAD
        texts, widths = zip(*(known[m.key] for m, _ in seen), strict=True)
        # A label hangs to the right of its line, and to the left where the pane ends.
        starts = [
            (x if x + w <= where.width() else x - w) for (_, x), w in zip(seen, widths, strict=True)
        ]
        places = rows(starts, widths, ROWS, PAD)
        for (mark, _), text, left, wide, row in zip(
            seen, texts, starts, widths, places, strict=True
        ):
            if row >= 0:
                top = where.top() + row * high
                self._word(painter, mark, text, QRectF(where.left() + left, top, wide, high - 2))

    def text(self, mark: Mark) -> str:
        """What is written at a mark."""
        text = mark_title(mark)
        if mark.pressure_pa is not None:
            text += f"  {self.marks.shown.text(mark.pressure_pa, Dimension.PRESSURE)}"
        return text

    def _word(self, painter: QPainter, mark: Mark, text: str, where: QRectF) -> None:
        theme, colour = self.marks.theme, self.marks.colour(mark)
        is_sure = mark.standing is not Standing.PROVISIONAL
        # Provisional: hollow with a dashed edge. Final: a filled bar at its line.
        painter.setPen(pen(colour, dashed=not is_sure))
        painter.setBrush(QColor(theme.panel))
        painter.drawRect(where)
        if is_sure:
            painter.fillRect(QRectF(where.left(), where.top(), 4.0, where.height()), QColor(colour))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QColor(theme.text))
        painter.drawText(
            where.adjusted(2 * PAD, 0.0, 0.0, 0.0), Qt.AlignmentFlag.AlignVCenter, text
        )
