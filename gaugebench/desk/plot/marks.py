"""Marks over a pane: all of them by one item, those in view alone."""

from __future__ import annotations

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QLineF
from PySide6.QtGui import QPainter, QPen

from gaugebench.desk.plot.layer import Layer, pen
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Theme
from gaugebench.model.arrays import F64
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
    """The lines of the marks in one pane: those of one look are drawn together, one a pixel."""

    def __init__(self, box: pg.ViewBox, theme: Theme) -> None:
        super().__init__(box, 20.0)
        self.theme = theme
        self.shown = Shown()
        self.chosen: str | None = None
        self.marks: tuple[Mark, ...] = ()
        self.words: dict[str, tuple[str, float]] = {}
        """What is written at a mark and how wide it is, by its key; kept from frame to frame."""
        self._ordered: list[Mark] = []
        self._times: F64 = np.empty(0)
        self._groups: list[tuple[QPen, F64]] = []

    def set_marks(self, marks: tuple[Mark, ...], shown: Shown) -> None:
        """Show these; nothing is drawn anew where nothing changed."""
        if marks != self.marks:
            self.marks = marks
            self._ordered = sorted(marks, key=lambda m: _ORDER[m.kind])
            self._times = np.array([m.time_s for m in self._ordered])
            self._group()
            self.words = {}
        if shown != self.shown or marks:
            self.words = self.words if shown == self.shown else {}
            self.shown = shown
            self.update()

    def choose(self, key: str | None) -> None:
        """Draw one mark stronger than the others."""
        self.chosen = key
        self._group()
        self.update()

    def seen(self, most: int) -> list[tuple[Mark, float]]:
        """Of the marks in view so many, the most important first, each with its pixel."""
        ax, bx, _, _ = self.scales()
        width = self.box.rect().width()
        pixels = self._times * ax + bx
        within = np.flatnonzero((pixels >= 0.0) & (pixels <= width))[:most]
        return [(self._ordered[i], float(pixels[i])) for i in within]

    def paint(self, painter: QPainter, *_options: object) -> None:
        """A line for each mark in view; dashed where it may still move."""
        self.draw_lines(painter, 0.0, 0.0, self.box.rect().height())

    def draw_lines(self, painter: QPainter, left: float, top: float, end: float) -> None:
        """All lines from `top` to `end`, with the view box beginning at `left`."""
        ax, bx, _, _ = self.scales()
        width = self.box.rect().width()
        for look, times in self._groups:
            pixels = np.unique(np.round(times * ax + bx))
            pixels = pixels[(pixels >= 0.0) & (pixels <= width)] + left
            if len(pixels):
                painter.setPen(look)
                painter.drawLines([QLineF(x, top, x, end) for x in pixels.tolist()])

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

    def _group(self) -> None:
        looks: dict[tuple[str, bool, bool], tuple[QPen, list[float]]] = {}
        for mark in self.marks:
            is_open = mark.standing is Standing.PROVISIONAL
            look = (self.colour(mark), is_open, mark.key == self.chosen)
            found = looks.setdefault(look, (self.line_pen(mark), []))
            found[1].append(mark.time_s)
        self._groups = [(look, np.array(times)) for look, times in looks.values()]
