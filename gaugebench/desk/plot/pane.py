"""One pane: an axis, a view box, and the layers over it."""

from __future__ import annotations

import math

import numpy as np
import pyqtgraph as pg
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QApplication

from gaugebench.desk.plot.axes import QuantityAxis, TimeAxis
from gaugebench.desk.plot.ends import EndLayer
from gaugebench.desk.plot.grid import GridLayer
from gaugebench.desk.plot.limits import LimitLayer
from gaugebench.desk.plot.lines import Line, LineLayer
from gaugebench.desk.plot.marks import MarkLayer
from gaugebench.desk.plot.plan import PaneSpec
from gaugebench.desk.plot.pyramid import Polyline
from gaugebench.desk.plot.span import Span, settle
from gaugebench.desk.plot.words import ROWS, WordLayer
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Theme
from gaugebench.model.mark import Mark

MARGIN_PX = 170


class Pane:
    """Items are built once; data is set into them."""

    def __init__(self, spec: PaneSpec, theme: Theme, *, is_first: bool, is_last: bool) -> None:
        self.spec, self.theme = spec, theme
        self.axis = QuantityAxis(spec.dimension, spec.title, theme)
        self.time = TimeAxis(theme)
        self.plot = pg.PlotItem(
            axisItems={"left": self.axis, "bottom": self.time}, enableMenu=False
        )
        self.plot.hideButtons()
        self.plot.layout.setColumnFixedWidth(2, MARGIN_PX)  # for the names at the lines' ends
        self.plot.showAxis("bottom", show=is_last)
        self.box: pg.ViewBox = self.plot.vb
        self.box.disableAutoRange()
        self.box.sigResized.connect(self.axis.fit)  # a lambda of ours would hold the box for good
        self.grid = GridLayer(self.box, self.axis, self.time, theme)
        self.limits = LimitLayer(self.box, theme)
        self.lines = LineLayer(self.box)
        self.lines.lines = [
            Line(theme.colour(s.role, s.place), theme.shape(s.role, s.place), theme.panel)
            for s in spec.lines
        ]
        self.marks = MarkLayer(self.box, theme)
        self.words: WordLayer | None = None
        if is_first:
            self._make_room_for_words()
        titles = [s.title for s in spec.lines]
        self.ends = EndLayer(self.plot, self.lines, titles, theme, float(MARGIN_PX))
        self.is_free = False
        self._span: Span | None = None
        self._seen = (math.nan, math.nan)
        self.shown = Shown()
        self.show_in(self.shown)

    def _make_room_for_words(self) -> None:
        height = ROWS * (QFontMetricsF(QApplication.font()).height() + 4.0)
        self.plot.layout.setRowFixedHeight(1, height)
        self.words = WordLayer(self.plot, self.marks, height)

    def set_marks(self, marks: tuple[Mark, ...]) -> None:
        """Show these marks."""
        self.marks.set_marks(marks, self.shown)
        if self.words is not None:
            self.words.update()

    def show_in(self, shown: Shown) -> None:
        """Write numbers in these units; the samples stay as they are."""
        self.shown = shown
        self.set_marks(self.marks.marks)
        self.axis.show_in(shown)
        self.ends.set_values(self.ends.values, shown, self.spec.dimension)
        self.fit(*self._seen, anew=True)

    def set_line(self, place: int, data: Polyline) -> None:
        """The line at `place` among this pane's lines."""
        self.lines.lines[place].data = data
        self.lines.update()

    def set_values(self, values: list[float]) -> None:
        """The values written at the lines' ends."""
        self.ends.set_values(values, self.shown, self.spec.dimension)

    def fit(self, low: float, high: float, *, anew: bool = False) -> None:
        """Let the axis hold values between two (inside unit), with no more change than needed.

        anew: round to the numbers of another unit, whatever stood before.
        """
        self._seen = (low, high)
        if self.is_free:
            return
        factor = self.shown.factor(self.spec.dimension)
        now = self._span if not anew else None
        shown = None if now is None else (now[0] * factor, now[1] * factor)
        span = settle(
            shown,
            low * factor,
            high * factor,
            least=self.spec.least * factor,
            from_zero=self.spec.from_zero,
        )
        if span != shown:
            self._span = (span[0] / factor, span[1] / factor)
            self.box.setYRange(*self._span, padding=0)

    def set_free(self, *_: object) -> None:
        """The axis was set by hand: leave it so until asked otherwise."""
        (low, high), span = self.box.viewRange()[1], self._span
        if span is not None and not (math.isclose(low, span[0]) and math.isclose(high, span[1])):
            self.is_free = True
            self._span = (low, high)

    def extremes(self) -> tuple[float, float]:
        """Least and greatest value of the lines shown; NaN where there are none."""
        low, high = math.nan, math.nan
        for line in self.lines.lines:
            if line.visible and len(line.data.y):
                low = float(np.fmin(low, np.fmin.reduce(line.data.y)))
                high = float(np.fmax(high, np.fmax.reduce(line.data.y)))
        return low, high
