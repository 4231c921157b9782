"""What went wrong, where the eye is: a strip in the window, never a stack of boxes."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSizePolicy, QWidget

from gaugebench.desk.words import tr


class Notice(QWidget):
    """One sentence with a button that puts it away; hidden where there is none."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._text = QLabel()
        self._text.setProperty("trouble", True)  # noqa: FBT003 - Qt takes it so
        self._text.setWordWrap(True)
        self._text.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        close = QPushButton(tr("Understood"))
        close.setAccessibleName(tr("Put this message away"))
        close.clicked.connect(self.clear)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self._text, 1)
        row.addWidget(close)
        self.hide()

    @property
    def text(self) -> str:
        """What it says; empty where it is hidden."""
        return self._text.text() if not self.isHidden() else ""

    def say(self, sentence: str) -> None:
        """Show a sentence; the newest stands."""
        self._text.setText(sentence)
        self._text.setAccessibleName(sentence)
        self.show()

    def clear(self) -> None:
        """Put it away."""
        self.hide()
