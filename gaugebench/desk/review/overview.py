"""The whole trace as its labelled loadings, to step through."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFocusEvent,
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from gaugebench.desk.plot.layer import pen
from gaugebench.desk.review.rows import loading_title
from gaugebench.desk.scale import touch
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Theme
from gaugebench.desk.words import tr
from gaugebench.model.figures import Absent, LoadingFigures

LEAST_WIDTH = 26.0


class OverviewStrip(QWidget):
    """Loadings as blocks along the trace; the stretch in view has a bracket below."""

    chosen = Signal(int)
    """A loading was picked, from 0."""
    moved_to = Signal(float)
    """An instant between loadings was picked, s."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.theme = theme
        self.shown = Shown()
        self.loadings: tuple[LoadingFigures, ...] = ()
        self.span = (0.0, 1.0)
        self.view = (0.0, 1.0)
        self.current = -1
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._speak()

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        """A touch target and a line of words."""
        return QSize(400, touch() + 40)

    def show_loadings(
        self, loadings: tuple[LoadingFigures, ...], span: tuple[float, float]
    ) -> None:
        """Show a trace's loadings; span: its first and last instant, s."""
        self.loadings, self.span, self.current = loadings, span, -1
        self._speak()
        self.update()

    def set_shown(self, shown: Shown) -> None:
        """Show numbers in these units."""
        self.shown = shown
        self.update()

    def set_view(self, start_s: float, end_s: float) -> None:
        """The stretch that the picture shows."""
        self.view = (start_s, end_s)
        self.update()

    def set_current(self, index: int) -> None:
        """The loading whose figures are shown."""
        self.current = index
        self._speak()
        self.update()

    def block(self, index: int) -> QRectF:
        """Where a loading is drawn; never narrower than can be seen and hit."""
        loading = self.loadings[index]
        left, right = self._x(loading.start_s), self._x(loading.end_s)
        if right - left < LEAST_WIDTH:
            middle = (left + right) / 2
            left, right = middle - LEAST_WIDTH / 2, middle + LEAST_WIDTH / 2
        return QRectF(left, 4.0, right - left, self.height() - 16.0)

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """A base line, the blocks, and the bracket."""
        painter = QPainter(self)
        theme = self.theme
        painter.fillRect(self.rect(), QColor(theme.panel))
        base = self.height() - 12.0
        painter.setPen(pen(theme.line))
        painter.drawLine(0, int(base), self.width(), int(base))
        top = max((self._top(loading) for loading in self.loadings), default=1.0)
        for index, loading in enumerate(self.loadings):
            self._block(painter, index, loading, top)
        if not self.loadings:
            painter.setPen(QColor(theme.muted))
            text = tr("No loading in this trace: the pumps stayed at their idle level.")
            painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, text)
        left, right = self._x(self.view[0]), self._x(self.view[1])
        painter.fillRect(QRectF(left, base + 3, max(right - left, 3.0), 7.0), QColor(theme.accent))
        if self.hasFocus():
            painter.setPen(pen(theme.accent, 3.0))
            painter.drawRect(QRectF(self.rect()).adjusted(1.5, 1.5, -1.5, -1.5))
        painter.end()

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Pick a loading, or an instant between."""
        for index in range(len(self.loadings)):
            if self.block(index).contains(event.position()):
                self.chosen.emit(index)
                return
        share = event.position().x() / max(self.width(), 1)
        self.moved_to.emit(self.span[0] + share * (self.span[1] - self.span[0]))

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        """Left and right step through the loadings."""
        steps = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
        step = steps.get(Qt.Key(event.key()))
        if step is None or not self.loadings:
            super().keyPressEvent(event)
            return
        self.chosen.emit(min(max(self.current + step, 0), len(self.loadings) - 1))

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: N802 - Qt's name
        """Show the frame that says where the keys go."""
        super().focusInEvent(event)
        self.update()

    def _x(self, time_s: float) -> float:
        length = (self.span[1] - self.span[0]) or 1.0
        return (time_s - self.span[0]) / length * self.width()

    def _top(self, loading: LoadingFigures) -> float:
        settled = [
            p.settled.value for p in loading.pumps.values() if not isinstance(p.settled, Absent)
        ]
        return max(settled, default=0.0)

    def _block(self, painter: QPainter, index: int, loading: LoadingFigures, top: float) -> None:
        theme, where = self.theme, self.block(index)
        is_current = index == self.current
        painter.fillRect(where, QColor(theme.span if is_current else theme.window))
        line = QFontMetricsF(self.font()).height()
        pumps = sorted(loading.pumps)
        wide = (where.width() - 4) / max(len(pumps), 1)
        for place, number in enumerate(pumps):
            settled = loading.pumps[number].settled
            if isinstance(settled, Absent) or top <= 0:
                continue
            high = (where.height() - line - 4) * max(settled.value, 0.0) / top
            bar = QRectF(where.left() + 2 + place * wide, where.bottom() - high, wide - 1, high)
            painter.fillRect(bar, QColor(theme.of_pump(number)))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen(theme.accent if is_current else theme.line, 3.0 if is_current else 1.0))
        painter.drawRect(where)
        painter.setPen(QColor(theme.text))
        room = where.adjusted(4, 1, -2, 0)
        text = loading_title(index + 1, loading, self.shown)
        metrics = QFontMetricsF(self.font())
        if metrics.horizontalAdvance(text) > room.width():
            # The number is always there; words only as far as they go.
            text = metrics.elidedText(text, Qt.TextElideMode.ElideRight, room.width())
            text = text if len(text) > 3 else str(index + 1)
        painter.drawText(room, Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft, text)

    def _speak(self) -> None:
        name = tr("Loadings of the trace: {count}", count=len(self.loadings))
        if 0 <= self.current < len(self.loadings):
            name += ". " + loading_title(self.current + 1, self.loadings[self.current], self.shown)
        self.setAccessibleName(name)
