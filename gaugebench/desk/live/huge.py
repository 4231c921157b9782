"""One huge number beside its target, to be read from the seat."""

from __future__ import annotations

import math

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from gaugebench.desk.live.readings import Reading
from gaugebench.desk.live.work import Work
from gaugebench.desk.names import channel_title
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Theme
from gaugebench.desk.words import tr
from gaugebench.errors import UnitError
from gaugebench.model.band import Band, parse_band
from gaugebench.model.role import Port
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
        limits = self.shown.band(band, self.dimension)
        if band.holds(self.value):
            return tr("inside {band}", band=limits)
        if band.low is not None and self.value < band.low:
            return tr("below {band}", band=limits)
        return tr("above {band}", band=limits)

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


class HugePane(QWidget):
    """The huge number with its choice of channel and target. A check that waits sets both."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._readings: list[Reading] = []
        self._check = ""
        self.number = HugeNumber(theme)
        self.channel = QComboBox()
        self.channel.setAccessibleName(tr("Channel shown large"))
        self.target = QLineEdit()
        self.target.setPlaceholderText(tr("Target, for example 343 bar ± 5 bar"))
        self.target.setAccessibleName(tr("Target"))
        self.trouble = QLabel()
        self.trouble.setProperty("muted", True)  # noqa: FBT003 - Qt takes it so
        row = QHBoxLayout()
        row.addWidget(self.channel)
        row.addWidget(self.target, 1)
        row.addWidget(self.trouble, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.number, 1)
        column.addLayout(row)
        self.target.editingFinished.connect(self._aim)
        self.channel.currentIndexChanged.connect(self._aim)

    @property
    def reading(self) -> Reading | None:
        """The chosen channel."""
        index = self.channel.currentIndex()
        return self._readings[index] if 0 <= index < len(self._readings) else None

    def show_readings(self, readings: list[Reading]) -> None:
        """Offer these channels; the first main pressure is chosen."""
        self._readings = readings
        self._check = ""
        self.channel.clear()
        self.channel.addItems([channel_title(r.channel) for r in readings])
        roles = [r.channel.role for r in readings]
        mains = [n for n, role in enumerate(roles) if role and role.port is Port.MAIN]
        self.channel.setCurrentIndex(mains[0] if mains else min(0, len(readings) - 1))

    def follow(self, work: Work | None) -> None:
        """Stand at the check that waits: once for each, so that what is typed then stays."""
        key = work.check.key if work is not None and work.check is not None else ""
        if work is None or key == self._check:
            return
        self._check = key
        fitting = [n for n, r in enumerate(self._readings) if r.channel.role == work.role]
        if fitting and work.check is not None:
            self.channel.setCurrentIndex(fitting[0])
            self.target.setText(work.check.band or "")
            self._aim()

    def renew(self, shown: Shown) -> None:
        """Show the chosen channel as it stands."""
        reading, number = self.reading, self.number
        if reading is None:
            return
        number.value, number.dimension = reading.value, reading.channel.dimension
        number.shown = shown
        said = f"{shown.text(reading.value, number.dimension)} {number.words()}"
        if said != number.accessibleName():
            number.setAccessibleName(said)
            number.update()

    def _aim(self) -> None:
        reading, text = self.reading, self.target.text().strip()
        self.trouble.clear()
        self.number.band = None
        if reading is not None and text:
            try:
                self.number.band = parse_band(text, reading.channel.dimension)
            except UnitError as fault:
                self.trouble.setText(str(fault))
        self.number.update()
