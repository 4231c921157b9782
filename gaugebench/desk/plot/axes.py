"""Axes that write their quantity and unit, and time in seconds or minutes."""

from __future__ import annotations

import pyqtgraph as pg

from gaugebench.desk.shown import Shown, clock, plain
from gaugebench.desk.theme import Theme
from gaugebench.desk.words import tr
from gaugebench.quantity import Dimension

ROOM_FOR_NAME_PX = 105.0


def style(axis: pg.AxisItem, theme: Theme) -> None:
    """The look of every axis: the theme's colours, ticks inwards, one level of them."""
    axis.setPen(theme.line)
    axis.setTextPen(theme.text)
    axis.enableAutoSIPrefix(False)  # noqa: FBT003 - pyqtgraph takes it so
    axis.setStyle(maxTickLevel=0, tickLength=-6, maxTextLevel=0)


class QuantityAxis(pg.AxisItem):  # type: ignore[misc]  # pyqtgraph is untyped
    """The left axis of a pane. The samples stay in the inside unit; the axis is scaled."""

    def __init__(self, dimension: Dimension, title: str, theme: Theme) -> None:
        super().__init__("left")
        self.dimension, self.title, self.theme = dimension, title, theme
        self.shown = Shown()
        self._is_low = False
        style(self, theme)
        self.setWidth(78)

    def show_in(self, shown: Shown) -> None:
        """Write the axis in these units."""
        self.shown = shown
        self.setScale(shown.factor(self.dimension))
        symbol = shown.symbol(self.dimension)
        text = symbol if self._is_low else f"{self.title}, {symbol}"
        self.setLabel(text=text, color=self.theme.text)

    def fit(self, box: pg.ViewBox) -> None:
        """Take the room that a view box has."""
        self.set_room(box.height())

    def set_room(self, height: float) -> None:
        """Leave the quantity's name out where it would run into the next pane's."""
        is_low = height < ROOM_FOR_NAME_PX
        if is_low != self._is_low:
            self._is_low = is_low
            self.show_in(self.shown)

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:  # noqa: N802
        """The language's decimal sign, as many places as the step needs."""
        places = max(0, _places(spacing * scale))
        return [plain(v * scale, places) for v in values]


class TimeAxis(pg.AxisItem):  # type: ignore[misc]  # pyqtgraph is untyped
    """Time since the session or the trace began, in s; in min:s where the view is long."""

    def __init__(self, theme: Theme) -> None:
        super().__init__("bottom")
        self.theme = theme
        self._is_long = False
        self.from_zero = False
        """A session begins at 0: nothing is written before that."""
        style(self, theme)
        self._write()

    def _write(self) -> None:
        words = tr("Time, h:min:s") if self._is_long else tr("Time, s")
        self.setLabel(text=words, color=self.theme.text)

    def set_long(self, is_long: bool) -> None:
        """Whether instants are written in h:min:s."""
        if is_long != self._is_long:
            self._is_long = is_long
            self._write()

    def tickSpacing(self, low: float, high: float, size: float) -> list[tuple[float, float]]:  # noqa: N802
        """Steps of whole seconds and minutes where the view is long."""
        if not self._is_long:
            return list(super().tickSpacing(low, high, size))
        rough = (high - low) / max(size / 110.0, 2.0)
        steps = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 28800)
        step = next((s for s in steps if s >= rough), 86400)
        return [(float(step), 0.0)]

    def tickStrings(self, values: list[float], _: float, spacing: float) -> list[str]:  # noqa: N802
        """Seconds with the places that the step needs, or h:min:s."""
        least = 0.0 if self.from_zero else -float("inf")
        if self._is_long:
            return [clock(v) if v >= least else "" for v in values]
        places = max(0, _places(spacing))
        return [plain(v, places) if v >= least else "" for v in values]


def _places(step: float) -> int:
    places = 0
    while places < 6 and abs(step * 10**places - round(step * 10**places)) > 1e-6:
        places += 1
    return places
