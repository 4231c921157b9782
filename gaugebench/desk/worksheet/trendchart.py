"""A trend as a picture: readings with their ± over hours or days, the band tinted behind them."""

from __future__ import annotations

import math
from itertools import pairwise

import pyqtgraph as pg
from PySide6.QtCore import QLineF, QPointF
from PySide6.QtGui import QPainter

from gaugebench.desk.plot.axes import QuantityAxis, style
from gaugebench.desk.plot.grid import GridLayer
from gaugebench.desk.plot.layer import Layer, draw_shape, pen, shape_path
from gaugebench.desk.plot.limits import LimitLayer
from gaugebench.desk.shown import Shown, plain
from gaugebench.desk.theme import Shape, Theme
from gaugebench.desk.words import tr
from gaugebench.desk.worksheet.trends import Point, Trend, day_of

SIZE_PX = 13.0
CAP_PX = 5.0
ROOM = 0.12
"""So much of the span stays free on each side."""
LEAST_HOURS, LEAST_DAYS = 100.0, 14.0
TICK_PX = 130.0
"""A day on the axis is written so far from the next."""


class AlongAxis(pg.AxisItem):  # type: ignore[misc]  # pyqtgraph is untyped
    """Hours of a machine, or days."""

    def __init__(self, theme: Theme) -> None:
        super().__init__("bottom")
        self.theme, self.over_days = theme, False
        style(self, theme)

    def show_days(self, over_days: bool) -> None:
        """Whether days are written, not hours."""
        self.over_days = over_days
        words = tr("Day") if over_days else tr("Hour meter, h")
        self.setLabel(text=words, color=self.theme.text)

    def tickSpacing(self, low: float, high: float, size: float) -> list[tuple[float, float]]:  # noqa: N802
        """Whole days, months or years; hours as usual."""
        if not self.over_days:
            return list(super().tickSpacing(low, high, size))
        rough = (high - low) / max(size / TICK_PX, 1.0)
        steps = (1.0, 2.0, 7.0, 14.0, 30.0, 61.0, 91.0, 183.0, 365.0, 730.0)
        return [(next((s for s in steps if s >= rough), 3650.0), 0.0)]

    def tickStrings(self, values: list[float], _: float, spacing: float) -> list[str]:  # noqa: N802
        """The day, or the hours."""
        if self.over_days:
            return [day_of(v) for v in values]
        return [plain(v, 0 if spacing >= 1 else 1) for v in values]


class PointLayer(Layer):
    """Readings: a ring as found, a full square as left; a cross over what is out of its band."""

    def __init__(self, box: pg.ViewBox, theme: Theme) -> None:
        super().__init__(box, 2.0)
        self.theme = theme
        self.points: tuple[Point, ...] = ()

    def paint(self, painter: QPainter, *_options: object) -> None:
        """A thin line through them in order of the jobs, then each with its ±."""
        ax, bx, ay, by = self.scales()
        theme, where = self.theme, [QPointF(p.x * ax + bx, p.y * ay + by) for p in self.points]
        painter.setPen(pen(theme.muted, dashed=True))
        painter.drawLines([QLineF(a, b) for a, b in pairwise(where)])
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for point, at in zip(self.points, where, strict=True):
            painter.setPen(pen(theme.text))
            if point.expanded is not None:
                up, down = ((point.y + s * point.expanded) * ay + by for s in (1, -1))
                painter.drawLine(QPointF(at.x(), up), QPointF(at.x(), down))
                for y in (up, down):
                    painter.drawLine(QPointF(at.x() - CAP_PX, y), QPointF(at.x() + CAP_PX, y))
            shape = Shape.SQUARE if point.is_left else Shape.DISC
            fill = theme.of_pump(1) if point.is_left else theme.panel
            edge = theme.text if point.is_left else theme.of_pump(1)
            draw_shape(painter, at, shape_path(shape, SIZE_PX), fill, edge)
            if point.is_out:
                painter.setPen(pen(theme.alarm, 2.0))
                for way in (1.0, -1.0):
                    reach = SIZE_PX * 0.75
                    painter.drawLine(
                        QPointF(at.x() - reach, at.y() - way * reach),
                        QPointF(at.x() + reach, at.y() + way * reach),
                    )


class TrendChart(pg.GraphicsLayoutWidget):  # type: ignore[misc]  # pyqtgraph is untyped
    """One trend; nothing in it moves under the mouse."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.theme = theme
        self.trend: Trend | None = None
        self.setBackground(theme.panel)
        self.setFrameShape(self.Shape.NoFrame)
        self.setMinimumHeight(180)

    def show_trend(self, trend: Trend | None, shown: Shown) -> None:
        """Show a trend, or nothing."""
        self.clear()
        self.trend = trend
        if trend is None or not trend.points:
            return
        upright = QuantityAxis(trend.dimension, trend.title, self.theme)
        along = AlongAxis(self.theme)
        plot = pg.PlotItem(axisItems={"left": upright, "bottom": along}, enableMenu=False)
        plot.hideButtons()
        plot.setMouseEnabled(x=False, y=False)
        self.addItem(plot)
        box: pg.ViewBox = plot.vb
        box.disableAutoRange()
        box.sigResized.connect(upright.fit)
        upright.show_in(shown)
        along.show_days(trend.over_days)
        GridLayer(box, upright, along, self.theme)
        band = LimitLayer(box, self.theme)
        if trend.limits is not None:
            low, high = trend.limits.low, trend.limits.high
            band.set_limits(
                (low if low is not None else -math.inf, high if high is not None else math.inf)
            )
        PointLayer(box, self.theme).points = trend.points
        box.setRange(xRange=_across(trend), yRange=_up(trend), padding=0)


def _across(trend: Trend) -> tuple[float, float]:
    values = [p.x for p in trend.points]
    return _roomy(min(values), max(values), LEAST_DAYS if trend.over_days else LEAST_HOURS)


def _up(trend: Trend) -> tuple[float, float]:
    """Room for every reading with its ±, and for the band's limits."""
    ends = [p.y + s * (p.expanded or 0.0) for p in trend.points for s in (1, -1)]
    if trend.limits is not None:
        ends += [v for v in (trend.limits.low, trend.limits.high) if v is not None]
    return _roomy(min(ends), max(ends), 0.02 * max(abs(e) for e in ends) or 1.0)


def _roomy(low: float, high: float, least: float) -> tuple[float, float]:
    """A span somewhat wider than what lies in it, and never narrower than `least`."""
    middle, half = (low + high) / 2, max(high - low, least) * (0.5 + ROOM)
    return middle - half, middle + half
