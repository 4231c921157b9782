"""What went wrong, where the eye is: a strip in the window, never a stack of boxes."""

from __future__ import annotations

from typing import Protocol, runtime_checkable

from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSizePolicy, QWidget

from gaugebench.desk.words import Told, tr
from gaugebench.guide import Place


@runtime_checkable
class Explains(Protocol):
    """A window that can open the guide."""

    def explain(self, place: Place) -> None:
        """Open the guide at a place."""


class Notice(QWidget):
    """One sentence with a button that puts it away; hidden where there is none.

    An error's sentence has a button that opens the guide where such errors are explained.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._text = QLabel()
        self._text.setProperty("trouble", True)  # noqa: FBT003 - Qt takes it so
        self._text.setWordWrap(True)
        self._text.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.explain_button = QPushButton(tr("In the guide"))
        self.explain_button.setAccessibleName(tr("What the guide says of such a message"))
        self.explain_button.clicked.connect(self._explain)
        self._place: Place | None = None
        close = QPushButton(tr("Understood"))
        close.setAccessibleName(tr("Put this message away"))
        close.clicked.connect(self.clear)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self._text, 1)
        row.addWidget(self.explain_button)
        row.addWidget(close)
        self.hide()

    @property
    def text(self) -> str:
        """What it says; empty where it is hidden."""
        return self._text.text() if not self.isHidden() else ""

    def say(self, sentence: str, *, is_mild: bool = False) -> None:
        """Show a sentence; the newest stands. is_mild: nothing is wrong, something is awaited."""
        if bool(self._text.property("simulated")) is not is_mild:
            self._text.setProperty("trouble", not is_mild)
            self._text.setProperty("simulated", is_mild)
            self._text.style().unpolish(self._text)
            self._text.style().polish(self._text)  # the style looks at a property only then
        self._text.setText(sentence)
        self._text.setAccessibleName(sentence)
        self._place = sentence.place if isinstance(sentence, Told) else None
        is_explained = self._place is not None and isinstance(self.window(), Explains)
        self.explain_button.setVisible(is_explained)
        self.show()

    def _explain(self) -> None:
        window = self.window()
        if self._place is not None and isinstance(window, Explains):
            window.explain(self._place)

    def clear(self) -> None:
        """Put it away."""
        self.hide()
