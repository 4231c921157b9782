"""One lever of the practice machine: pushed by mouse or keys, back to neutral when it is let go."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import (
    QColor,
    QFocusEvent,
    QFont,
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QSlider

from gaugebench.desk.plot.layer import pen
from gaugebench.desk.scale import touch
from gaugebench.desk.theme import Theme
from gaugebench.desk.words import tr

FULL = 100
"""A lever fully over, in either direction."""
NEUTRAL_SHARE = 0.04
"""So near the middle it stands in neutral."""
PAD = 8.0
_KEYS = {Qt.Key.Key_Left: -FULL, Qt.Key.Key_Right: FULL, Qt.Key.Key_Down: -FULL // 2,
         Qt.Key.Key_Up: FULL // 2}  # fmt: skip


class Lever(QSlider):
    """A slider with a spring. With keys: ← and → push it fully over, ↓ and ↑ half way."""

    def __init__(self, title: str, ends: tuple[str, str], theme: Theme) -> None:
        """title: the lever's name. ends: what it does to the left and to the right."""
        super().__init__(Qt.Orientation.Horizontal)
        self.title, self.ends, self.theme = title, ends, theme
        self.stays = False
        """Whether it stays where it is put."""
        self.setRange(-FULL, FULL)
        self.setMinimumHeight(touch())
        self.setMinimumWidth(4 * touch())
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(tr("Lever {title}: {left} or {right}", title=title,
                                  left=ends[0], right=ends[1]))  # fmt: skip
        self.setToolTip(
            tr("Hold to push. Keys: ← and → fully over, ↓ and ↑ half way; let go for neutral.")
        )

    def let_go(self) -> None:
        """Back to neutral."""
        self.setValue(0)

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """It goes where it is taken."""
        self.setFocus()
        self._go(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """It follows the hand."""
        self._go(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """The spring takes it back."""
        event.accept()
        if not self.stays:
            self.let_go()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        """Pushed as long as the key is down; 0 is neutral."""
        if event.key() == Qt.Key.Key_0:
            self.let_go()
        elif event.key() in _KEYS:
            self.setValue(_KEYS[Qt.Key(event.key())])
        else:
            event.ignore()

    def keyReleaseEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        """The spring takes it back."""
        if event.key() in _KEYS and not event.isAutoRepeat() and not self.stays:
            self.let_go()

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802 - Qt's name
        """Nobody holds it any more."""
        super().focusOutEvent(event)
        if not self.stays:
            self.let_go()

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802 - Qt's name
        """A wheel scrolls the pane; it must not push a lever that nobody lets go again."""
        event.ignore()

    def grip(self) -> QRectF:
        """Where the grip stands; wide enough for the lever's name, whatever it says."""
        box, metrics = self._slot(), QFontMetricsF(self._bold())
        words = (self.title, tr("neutral"), f"{FULL} %")
        wide = max(*(metrics.horizontalAdvance(w) for w in words), box.height()) + 2 * PAD
        at = box.center().x() + self.value() / FULL * (box.width() - wide) / 2
        return QRectF(at - wide / 2, box.top() + 2, wide, box.height() - 4)

    def end_words(self) -> tuple[str, str]:
        """What is written at the ends: shortened where the grip in the middle leaves no room."""
        box, metrics = self._slot(), QFontMetricsF(self.font())
        room = (box.width() - self.grip().width()) / 2 - 2 * PAD
        left, right = (metrics.elidedText(w, Qt.TextElideMode.ElideRight, room) for w in self.ends)
        return left, right

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """A slot with what each end does, and the grip with the lever's name and how far it is."""
        painter = QPainter(self)
        theme, box, grip = self.theme, self._slot(), self.grip()
        painter.setPen(pen(theme.line, theme.border_px))
        painter.setBrush(QColor(theme.panel))
        painter.drawRect(box)
        painter.setPen(QColor(theme.text if self.isEnabled() else theme.muted))
        middle = Qt.AlignmentFlag.AlignVCenter
        left, right = self.end_words()
        inside = box.adjusted(PAD, 0, -PAD, 0)
        painter.drawText(inside, middle | Qt.AlignmentFlag.AlignLeft, left)
        painter.drawText(inside, middle | Qt.AlignmentFlag.AlignRight, right)
        is_pushed = self.value() != 0
        painter.setBrush(QColor(theme.accent if is_pushed else theme.window))
        edge = theme.accent if self.hasFocus() else theme.line
        painter.setPen(pen(edge, 3.0 if self.hasFocus() else float(theme.border_px)))
        painter.drawRect(grip)
        ink = theme.on_accent if is_pushed else theme.text if self.isEnabled() else theme.muted
        painter.setPen(QColor(ink))
        half = grip.height() / 2
        upper = QRectF(grip.left(), grip.top(), grip.width(), half)
        painter.setFont(self._bold())
        painter.drawText(upper.translated(0, 1), Qt.AlignmentFlag.AlignCenter, self.title)
        painter.setFont(self.font())
        says = f"{abs(self.value())} %" if is_pushed else tr("neutral")
        painter.drawText(upper.translated(0, half - 1), Qt.AlignmentFlag.AlignCenter, says)

    def _bold(self) -> QFont:
        font = QFont(self.font())
        font.setBold(True)
        return font

    def _slot(self) -> QRectF:
        return QRectF(self.rect()).adjusted(1, 1, -1, -1)

    def _go(self, event: QMouseEvent) -> None:
        event.accept()
        share = 2.0 * event.position().x() / max(self.width(), 1) - 1.0
        # The last tenth at each end is the stop, so that fully over is easily met.
        share = max(-1.0, min(1.0, share / 0.9))
        self.setValue(0 if abs(share) < NEUTRAL_SHARE else round(share * FULL))
