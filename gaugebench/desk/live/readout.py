"""One readout: digits to be read at two metres, and all that belongs to them."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from gaugebench.desk.live.readings import Reading, State, Trend
from gaugebench.desk.names import channel_title
from gaugebench.desk.plot.layer import pen, shape_path
from gaugebench.desk.scale import font_for_digits, legible_digit_px
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import Shape, Theme
from gaugebench.desk.words import decimal_sign, tr
from gaugebench.model.band import Band

PAD = 8.0
STRETCHES = (100, 92, 86, 80, 75, 70)
"""Digits are narrowed before they are made smaller."""
WIDEST = "888.8"
_ARROWS = {Trend.RISING: "▲", Trend.FALLING: "▼", Trend.STEADY: "▶", Trend.UNKNOWN: ""}


class Readout(QWidget):
    """One channel: name, value, unit, trend, extremes since reset, state in words."""

    def __init__(self, reading: Reading, colour: str, shape: Shape, theme: Theme) -> None:
        super().__init__()
        self.reading, self.colour, self.theme = reading, colour, theme
        self.title = channel_title(reading.channel)
        self.shown = Shown()
        self.band: Band | None = None
        """What the check that waits wants of this channel."""
        self._shape = shape_path(shape, 14.0)
        self._painted: tuple[object, ...] = ()
        self.is_beside = False
        """Whether what was seen stands beside the digits, where there is room, and not below."""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        """High enough for digits that are read at two metres."""
        line = QFontMetricsF(self.font()).height()
        below = 0.2 if self.is_beside else 2.6
        high = legible_digit_px() + self._tail() + (1.2 + below) * line + 3 * PAD
        return QSize(self.least_width(), math.ceil(high))

    def put_beside(self, *, is_beside: bool) -> None:
        """Put what was seen beside the digits, or below them."""
        if is_beside != self.is_beside:
            self.is_beside = is_beside
            self.updateGeometry()
            self.update()

    def _tail(self) -> float:
        """How far the decimal sign hangs below the digits: a comma does, a point does not."""
        sign = QFontMetricsF(self._font(STRETCHES[0])).tightBoundingRect(decimal_sign())
        return max(sign.bottom() - PAD / 2, 0.0)

    def beside_width(self) -> int:
        """The least width at which what was seen stands beside the digits."""
        digits = self._digits_width(STRETCHES[3])
        return math.ceil(digits + self._side_width() + self._seen_width() + 3 * PAD)

    def _seen_width(self) -> float:
        return QFontMetricsF(self.font()).horizontalAdvance(self._seen("−88.8", "888.8", ""))

    minimumSizeHint = sizeHint  # noqa: N815 - Qt's name

    def least_width(self) -> int:
        """The least width at which the digits keep their size."""
        return math.ceil(self._digits_width(STRETCHES[-1]) + self._side_width() + 2 * PAD)

    def digits_font(self) -> QFont:
        """The font of the digits at the present width."""
        room = self.width() - self._side_width() - 2 * PAD
        if self.is_beside:
            room -= self._seen_width() + PAD
        for stretch in STRETCHES:
            if self._digits_width(stretch) <= room:
                return self._font(stretch)
        font = self._font(STRETCHES[-1])
        share = max(room, 20.0) / self._digits_width(STRETCHES[-1])
        font.setPixelSize(max(int(font.pixelSize() * share), 12))
        return font

    def _font(self, stretch: int) -> QFont:
        font = font_for_digits(self.font(), legible_digit_px())
        font.setStretch(stretch)
        return font

    def _digits_width(self, stretch: int) -> float:
        return QFontMetricsF(self._font(stretch)).horizontalAdvance(WIDEST)

    def _side_width(self) -> float:
        font = QFont(self.font())
        font.setBold(True)
        symbol = self.shown.symbol(self.reading.channel.dimension)
        return QFontMetricsF(font).horizontalAdvance(symbol) + PAD

    def words(self) -> str:
        """The readout as a sentence, for those who hear it."""
        reading = self.reading
        value = self.shown.text(reading.value, reading.channel.dimension)
        parts = [f"{self.title}: {value}"]
        parts += [tr(w.value) for w in (reading.trend, reading.state) if w.value]
        if self.band is not None:
            parts.append(self.aim())
        return ", ".join(parts)

    def aim(self) -> str:
        """Where the value stands in the band that is wanted."""
        band, value = self.band, self.reading.value
        if band is None:
            return ""
        limits = self.shown.band(band, self.reading.channel.dimension)
        if math.isnan(value):
            return limits
        if band.holds(value):
            return tr("inside {band}", band=limits)
        if band.low is not None and value < band.low:
            return tr("below {band}", band=limits)
        return tr("above {band}", band=limits)

    def renew(self, shown: Shown, *, speak: bool) -> None:
        """Show the reading as it stands; `speak`: tell assistive technology too."""
        self.shown = shown
        reading = self.reading
        dimension = reading.channel.dimension
        now = (
            shown.number(reading.value, dimension),
            shown.number(reading.least, dimension),
            shown.number(reading.greatest, dimension),
            reading.trend,
            reading.state,
            self.aim(),
            shown,
        )
        if now != self._painted:
            self._painted = now
            self.update()
        if speak:
            self.setAccessibleName(self.words())

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """A card: its pump's colour and shape on the left, the digits in the middle."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        theme, box = self.theme, QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        painter.setPen(pen(theme.line, theme.border_px))
        painter.setBrush(QColor(theme.panel))
        painter.drawRect(box)
        painter.fillRect(QRectF(box.left(), box.top(), box.width(), 5.0), QColor(self.colour))
        line = QFontMetricsF(self.font()).height()
        self._head(painter, QRectF(PAD, 5.0 + PAD / 2, box.width() - 2 * PAD, line * 1.2))
        top = 5.0 + PAD + line * 1.2
        bottom = self._digits(painter, top) + self._tail() + PAD / 2
        foot = QRectF(PAD, bottom, box.width() - 2 * PAD, line * 1.2)
        if self.is_beside:
            foot = QRectF(PAD, bottom - PAD / 2 - 2.4 * line, self._seen_width(), line * 1.2)
        self._foot(painter, foot)
        self._aim(painter, foot.translated(0.0, line * 1.2))
        painter.end()

    def _head(self, painter: QPainter, where: QRectF) -> None:
        painter.setBrush(QColor(self.colour))
        painter.setPen(pen(self.theme.panel))
        painter.drawPath(self._shape.translated(QPointF(where.left() + 7, where.center().y())))
        font = QFont(self.font())
        font.setBold(True)
        painter.setFont(font)
        painter.setPen(QColor(self.theme.text))
        text = where.adjusted(22.0, 0.0, 0.0, 0.0)
        title = QFontMetricsF(font).elidedText(
            self.title, Qt.TextElideMode.ElideRight, text.width()
        )
        painter.drawText(text, Qt.AlignmentFlag.AlignVCenter, title)

    def _digits(self, painter: QPainter, top: float) -> float:
        reading, font = self.reading, self.digits_font()
        ink = legible_digit_px()
        baseline = top + ink
        number = self.shown.number(reading.value, reading.channel.dimension)
        painter.setFont(font)
        painter.setPen(QColor(self.theme.text))
        right = self.width() - self._side_width() - PAD / 2
        wide = QFontMetricsF(font).horizontalAdvance(number)
        painter.drawText(QPointF(right - wide, baseline), number)
        small = QFont(self.font())
        small.setBold(True)
        painter.setFont(small)
        left = right + PAD / 2
        painter.drawText(QPointF(left, baseline), self.shown.symbol(reading.channel.dimension))
        if arrow := _ARROWS[reading.trend]:
            painter.drawText(QPointF(left, baseline - ink + QFontMetricsF(small).ascent()), arrow)
        return baseline

    def _foot(self, painter: QPainter, where: QRectF) -> None:
        reading = self.reading
        if reading.state is not State.GOOD:
            is_waiting = reading.state in {State.WAITING, State.SETTLING}
            ground = self.theme.simulated if is_waiting else self.theme.alarm
            ink = self.theme.on_simulated if is_waiting else self.theme.on_alarm
            painter.fillRect(where, QColor(ground))
            painter.setPen(QColor(ink))
            painter.drawText(where, Qt.AlignmentFlag.AlignCenter, tr(reading.state.value))
            return
        painter.setFont(self.font())
        painter.setPen(QColor(self.theme.muted))
        dimension = reading.channel.dimension
        least, greatest = (
            self.shown.number(v, dimension) for v in (reading.least, reading.greatest)
        )
        unit = "" if self.is_beside else self.shown.symbol(dimension)
        painter.drawText(where, self._side(), self._seen(least, greatest, unit))

    def _seen(self, least: str, greatest: str, unit: str) -> str:
        text = tr("seen {least} to {greatest} {unit}", least=least, greatest=greatest, unit=unit)
        return text.rstrip()

    def _side(self) -> Qt.AlignmentFlag:
        beside, below = Qt.AlignmentFlag.AlignLeft, Qt.AlignmentFlag.AlignRight
        return Qt.AlignmentFlag.AlignVCenter | (beside if self.is_beside else below)

    def _aim(self, painter: QPainter, where: QRectF) -> None:
        """The band that is wanted, filled where the value lies in it; else the trend in words."""
        reading, theme, words = self.reading, self.theme, self.aim()
        side = self._side()
        if not words:
            painter.setPen(QColor(theme.muted))
            painter.drawText(where, side, tr(reading.trend.value) if reading.trend.value else "")
            return
        is_inside = self.band is not None and self.band.holds(reading.value)
        if is_inside:
            painter.fillRect(where, QColor(theme.accent))
        painter.setPen(QColor(theme.on_accent if is_inside else theme.text))
        metrics = QFontMetricsF(painter.font())
        text = metrics.elidedText(words, Qt.TextElideMode.ElideRight, where.width() - 4)
        painter.drawText(where.adjusted(2, 0, -2, 0), side, text)
