"""One huge number beside its target, to be read from the seat."""

from __future__ import annotations

import math

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from gaugebench.desk.live.readings import Reading
from gaugebench.desk.names import channel_title
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Theme
from gaugebench.desk.words import tr
from gaugebench.errors import UnitError
from gaugebench.model.band import Band, parse_band
from gaugebench.quantity import Dimension


class HugeNumber(QWidget):
    """Paints one value as large as the window allows, and where it stands in its band."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.theme = theme
        self.value = math.nan
        self.dimension = Dimension.PRESSURE
        self.band: Band | None = None
        self.shown = Shown()
        self.setMinimumSize(320, 160)

    def words(self) -> str:
        """Where the value stands."""
        band = self.band
        if band is None or math.isnan(self.value):
            return ""
        if band.holds(self.value):
            return tr("inside {band}", band=self._limits(band))
        if band.low is not None and self.value < band.low:
            return tr("below {band}", band=self._limits(band))
        return tr("above {band}", band=self._limits(band))

    def _limits(self, band: Band) -> str:
        low, high = band.low, band.high
        text = self.shown.text
        if low is None or high is None:
            edge = high if low is None else low
            return text(edge if edge is not None else math.nan, self.dimension)
        return f"{self.shown.number(low, self.dimension)} … {text(high, self.dimension)}"

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """The number fills two thirds of the height or all of the width."""
        painter = QPainter(self)
        theme = self.theme
        painter.fillRect(self.rect(), QColor(theme.panel))
        text = self.shown.text(self.value, self.dimension)
        words = self.words()
        font = QFont(self.font())
        font.setBold(True)
        font.setPixelSize(100)
        wide = QFontMetricsF(font).horizontalAdvance(text + " ")
        size = min(100 * self.width() / max(wide, 1.0), 0.62 * self.height())
        font.setPixelSize(max(int(size), 12))
        painter.setFont(font)
        painter.setPen(QColor(theme.text))
        box = QRectF(self.rect())
        top = QRectF(0, 0, box.width(), box.height() * 0.72)
        painter.drawText(top, Qt.AlignmentFlag.AlignCenter, text)
        if words:
            inside = self.band is not None and self.band.holds(self.value)
            ground = theme.accent if inside else theme.alarm
            foot = QRectF(0, box.height() * 0.76, box.width(), box.height() * 0.24)
            painter.fillRect(foot, QColor(ground))
            font.setPixelSize(max(int(foot.height() * 0.5), 12))
            painter.setFont(font)
            painter.setPen(QColor(theme.on_accent if inside else theme.on_alarm))
            painter.drawText(foot, Qt.AlignmentFlag.AlignCenter, words)
        painter.end()


class LargeWindow(QWidget):
    """A window for another screen: one channel, its target, and what the operator is to do."""

    def __init__(self, theme: Theme) -> None:
        super().__init__(None, Qt.WindowType.Window)
        self.setWindowTitle(tr("For the operator"))
        self.setObjectName("operator")
        self._readings: list[Reading] = []
        self.number = HugeNumber(theme)
        self.order = QLabel()
        self.order.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.order.setWordWrap(True)
        font = QFont(self.order.font())
        font.setPointSizeF(34)
        font.setBold(True)
        self.order.setFont(font)
        self.channel = QComboBox()
        self.channel.setAccessibleName(tr("Channel shown large"))
        self.target = QLineEdit()
        self.target.setPlaceholderText(tr("Target, for example 343 bar ± 5 bar"))
        self.target.setAccessibleName(tr("Target"))
        self.say = QLineEdit()
        self.say.setPlaceholderText(tr("What the operator is to do"))
        self.say.setAccessibleName(tr("What the operator is to do"))
        self.trouble = QLabel()
        self.trouble.setProperty("muted", True)  # noqa: FBT003 - Qt takes it so
        row = QHBoxLayout()
        row.addWidget(self.channel)
        row.addWidget(self.target, 1)
        row.addWidget(self.say, 2)
        column = QVBoxLayout(self)
        column.addWidget(self.order)
        column.addWidget(self.number, 1)
        column.addLayout(row)
        column.addWidget(self.trouble)
        self.target.editingFinished.connect(self._aim)
        self.say.textChanged.connect(self.order.setText)
        self.resize(900, 560)

    def show_readings(self, readings: list[Reading]) -> None:
        """Offer these channels."""
        self._readings = readings
        self.channel.clear()
        self.channel.addItems([channel_title(r.channel) for r in readings])

    def renew(self, shown: Shown) -> None:
        """Show the chosen channel as it stands."""
        index = self.channel.currentIndex()
        if 0 <= index < len(self._readings):
            reading = self._readings[index]
            number = self.number
            number.value, number.dimension = reading.value, reading.channel.dimension
            number.shown = shown
            number.update()
            number.setAccessibleName(f"{shown.text(reading.value, number.dimension)} "
                                     f"{number.words()}")  # fmt: skip

    def _aim(self) -> None:
        text = self.target.text().strip()
        self.trouble.clear()
        try:
            self.number.band = parse_band(text, self.number.dimension) if text else None
        except UnitError as fault:
            self.number.band = None
            self.trouble.setText(str(fault))
        self.number.update()
