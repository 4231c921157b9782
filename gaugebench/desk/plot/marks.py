"""Marks over a pane: all of them by one item, those in view alone."""

from __future__ import annotations

import pyqtgraph as pg
from PySide6.QtCore import QLineF
from PySide6.QtGui import QPainter, QPen

from gaugebench.desk.plot.layer import Layer, pen
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Theme
from gaugebench.model.mark import Mark, MarkKind, Standing

_FIRST = (
    MarkKind.ALARM,
    MarkKind.NOTE,
    MarkKind.RELIEF_CRACK,
    MarkKind.DESTROKE_ONSET,
    MarkKind.PEAK,
    MarkKind.SETTLED,
    MarkKind.IN_SYNC,
    MarkKind.LOADING_START,
    MarkKind.LOADING_END,
    MarkKind.GAP,
)
_ORDER = {kind: place for place, kind in enumerate(_FIRST)}


class MarkLayer(Layer):
    """The lines of the marks in one pane."""

    def __init__(self, box: pg.ViewBox, theme: Theme) -> None:
        super().__init__(box, 20.0)
        self.theme = theme
        self.shown = Shown()
        self.chosen: str | None = None
        self.marks: tuple[Mark, ...] = ()

    def set_marks(self, marks: tuple[Mark, ...], shown: Shown) -> None:
        """Show these; nothing is drawn anew where nothing changed."""
        if marks != self.marks or shown != self.shown:
            self.marks, self.shown = marks, shown
            self.update()

    def seen(self) -> list[tuple[Mark, float]]:
        """The marks in view with their pixel, the most important first."""
        ax, bx, _, _ = self.scales()
        width = self.box.rect().width()
        found = [(m, m.time_s * ax + bx) for m in self.marks]
        return sorted(
            ((m, x) for m, x in found if 0.0 <= x <= width), key=lambda pair: _ORDER[pair[0].kind]
        )

    def paint(self, painter: QPainter, *_options: object) -> None:
        """A line for each mark in view; dashed where it may still move."""
        self.draw_lines(painter, self.seen(), 0.0, 0.0, self.box.rect().height())

    def draw_lines(
        self, painter: QPainter, seen: list[tuple[Mark, float]], left: float, top: float, end: float
    ) -> None:
        """All lines from `top` to `end`, those of one pen at a time."""
        by_pen: dict[tuple[str, bool, bool], list[QLineF]] = {}
        pens = {}
        for mark, x in seen:
            look = (
                self.colour(mark),
                mark.standing is Standing.PROVISIONAL,
                mark.key == self.chosen,
            )
            pens[look] = mark
            by_pen.setdefault(look, []).append(QLineF(left + x, top, left + x, end))
        for look, lines in by_pen.items():
            painter.setPen(self.line_pen(pens[look]))
            painter.drawLines(lines)

    def line_pen(self, mark: Mark) -> QPen:
        """The pen of a mark's line."""
        is_sure = mark.standing is not Standing.PROVISIONAL
        width = 3.0 if mark.key == self.chosen else 1.0
        return pen(self.colour(mark), width, dashed=not is_sure)

    def colour(self, mark: Mark) -> str:
        """Its pump's colour, or the text's."""
        if mark.kind is MarkKind.ALARM:
            return self.theme.alarm
        return self.theme.text if mark.pump is None else self.theme.of_pump(mark.pump)
