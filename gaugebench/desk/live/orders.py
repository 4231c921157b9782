"""The operator's window: only what to do, in letters that are read from the seat."""

from __future__ import annotations

import math

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from gaugebench.desk.live.coach import Kind, Order
from gaugebench.desk.live.readings import Reading
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Theme
from gaugebench.desk.words import tr
from gaugebench.model.band import Band

_URGENT = {Kind.LET_GO, Kind.OVER}


def fit(font: QFont, text: str, width: float, height: float) -> QFont:
    """`font` as large as `text` stands in a box, in one line or in as many as its words allow."""
    made = QFont(font)
    low, high = 8, max(int(height), 9)
    while low < high:
        size = (low + high + 1) // 2
        made.setPixelSize(size)
        box = QFontMetricsF(made).boundingRect(
            QRectF(0, 0, width, 10_000), int(Qt.TextFlag.TextWordWrap), text
        )
        widest = max((QFontMetricsF(made).horizontalAdvance(w) for w in text.split()), default=0.0)
        if box.height() <= height and widest <= width:
            low = size
        else:
            high = size - 1
    made.setPixelSize(low)
    return made


class Orders(QWidget):
    """Paints an order, and the number it is about with its target at the foot."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.theme = theme
        self.order = Order(Kind.REST)
        self.said = ""
        """What the technician typed; stands where the coach has nothing to say."""
        self.reading: Reading | None = None
        self.band: Band | None = None
        self.shown = Shown()
        self._fitted: dict[tuple[object, ...], QFont] = {}
        self.setMinimumSize(320, 200)

    def heads(self) -> tuple[str, str, str]:
        """The great words, the count (or ""), and the line below."""
        order = self.order
        if order.kind is Kind.REST and self.said:
            return self.said, "", ""
        count = "" if order.count is None else str(order.count)
        big = order.big or tr("Wait for the word")
        return big, count, order.small

    def number(self) -> str:
        """The pressure now beside its target."""
        reading = self.reading
        if reading is None or not math.isfinite(reading.value):
            return ""
        dimension = reading.channel.dimension
        text = self.shown.text(reading.value, dimension)
        if self.band is None:
            return text
        target = self.shown.band(self.band, dimension)
        return tr("{value}   (aim {band})", value=text, band=target)

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Words above, count in the middle as large as it goes, number at the foot."""
        painter = QPainter(self)
        theme, order = self.theme, self.order
        ground, ink = theme.panel, theme.text
        if order.is_alarm or order.kind is Kind.LET_GO:
            ground, ink = (
                (theme.alarm, theme.on_alarm) if order.is_alarm else (theme.accent, theme.on_accent)
            )
        elif order.kind in (Kind.WAIT, Kind.LATE):
            ground, ink = theme.simulated, theme.on_simulated
        painter.fillRect(self.rect(), QColor(ground))
        painter.setPen(QColor(ink))
        big, count, small = self.heads()
        wide, high = float(self.width()), float(self.height())
        pad = wide * 0.03
        foot = self.number()
        top = 0.20 if count else 0.62
        self._text(painter, big, QRectF(pad, high * 0.03, wide - 2 * pad, high * top))
        if count:
            rest = 0.78 if not small and not foot else 0.72
            box = QRectF(pad, high * 0.20, wide - 2 * pad, high * (rest - 0.20))
            self._text(painter, count, box)
        if small:
            box = QRectF(pad, high * 0.70, wide - 2 * pad, high * (0.16 if foot else 0.26))
            self._text(painter, small, box)
        if foot:
            self._text(painter, foot, QRectF(pad, high * 0.87, wide - 2 * pad, high * 0.11))

    def _text(self, painter: QPainter, text: str, box: QRectF) -> None:
        key = (text, round(box.width()), round(box.height()))
        font = self._fitted.get(key)
        if font is None:
            if len(self._fitted) > 200:
                self._fitted.clear()
            bold = QFont(self.font())
            bold.setBold(True)
            font = self._fitted[key] = fit(bold, text, box.width(), box.height())
        painter.setFont(font)
        flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
        painter.drawText(box, int(flags), text)


class OperatorWindow(QWidget):
    """A window of its own for another screen. F11: full screen; Esc: back, then away."""

    pressed = Signal(QKeyEvent)
    """A key that this window has no use for: it may be the mark button."""

    def __init__(self, theme: Theme) -> None:
        super().__init__(None, Qt.WindowType.Window)
        self.setWindowTitle(tr("For the operator"))
        self.setObjectName("operator")
        self.orders = Orders(theme)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.orders)
        self.resize(1000, 620)

    def renew(
        self, order: Order, said: str, reading: Reading | None, band: Band | None, shown: Shown
    ) -> None:
        """Show an order as it stands now."""
        if not self.isVisible():
            return
        orders = self.orders
        orders.order, orders.said, orders.reading = order, said, reading
        orders.band, orders.shown = band, shown
        text = "  ".join(part for part in (*orders.heads(), orders.number()) if part)
        if text != orders.accessibleName():
            orders.setAccessibleName(text)
            orders.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        """Full screen, back, or on to whoever waits for the mark button."""
        key = event.key()
        if key == Qt.Key.Key_F11:
            self.showNormal() if self.isFullScreen() else self.showFullScreen()
        elif key == Qt.Key.Key_Escape:
            self.showNormal() if self.isFullScreen() else self.hide()
        else:
            self.pressed.emit(event)
