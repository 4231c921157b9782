"""A line of text that gives way where there is no room, and says by a hint what it left out."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy


class Elided(QLabel):
    """Shortened in the middle, since a name's end tells as much as its beginning."""

    def __init__(self, text: str = "") -> None:
        super().__init__(text)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    @property
    def shown(self) -> str:
        """The text as it fits."""
        width = self.contentsRect().width()
        return self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideMiddle, width)

    def setText(self, text: str) -> None:  # noqa: N802 - Qt's name
        """Show another text."""
        super().setText(text)
        self._hint()

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        """It gives all its width away."""
        return QSize(0, super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        """Another width shows another part."""
        super().resizeEvent(event)
        self._hint()

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802 - Qt's name
        """Larger letters show less."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._hint()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """What fits."""
        painter = QPainter(self)
        painter.setPen(self.palette().color(self.foregroundRole()))
        painter.setFont(self.font())
        painter.drawText(self.contentsRect(), self.alignment(), self.shown)

    def _hint(self) -> None:
        self.setToolTip(self.text() if self.shown != self.text() else "")
