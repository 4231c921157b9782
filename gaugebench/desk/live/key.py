"""Which key a keyboard-like button sends: a presenter's, or any other's.

A button that looks like a keyboard to the system needs no driver: it is known by its key.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QCoreApplication, QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence

from gaugebench.desk.memory import Memory

NAME = "mark button"
USUAL = "PgDown"
"""What the forward button of most presenters sends (common practice, no source)."""
_BARE = {Qt.Key.Key_Shift, Qt.Key.Key_Control, Qt.Key.Key_Alt, Qt.Key.Key_Meta, Qt.Key.Key_AltGr,
         Qt.Key.Key_unknown}  # fmt: skip


def sequence_of(event: QKeyEvent) -> str:
    """The key of an event as it is kept, "" for a mere modifier."""
    if Qt.Key(event.key()) in _BARE:
        return ""
    return QKeySequence(event.keyCombination()).toString(QKeySequence.SequenceFormat.PortableText)


def remembered(memory: Memory) -> str:
    """The key that marks and captures."""
    return memory.text(NAME, USUAL)


def keep(memory: Memory, key: str) -> None:
    """Let another key mark and capture."""
    memory.keep(NAME, key)


class KeyCatcher(QObject):
    """Takes the next key that is pressed, before anything else acts on it, and goes away."""

    def __init__(self, parent: QObject, then: Callable[[str], None]) -> None:
        super().__init__(parent)
        self._then = then
        self._is_done = False
        app = QCoreApplication.instance()
        if app is not None:
            app.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's name
        """A key that is a shortcut is offered as an override first: it is taken there."""
        if not isinstance(event, QKeyEvent) or self._is_done:
            return super().eventFilter(watched, event)
        if event.type() == QEvent.Type.ShortcutOverride:
            event.accept()  # so that it comes as a key and not as what it is short for
            return True
        if event.type() != QEvent.Type.KeyPress:
            return super().eventFilter(watched, event)
        if key := sequence_of(event):
            self._is_done = True
            app = QCoreApplication.instance()
            if app is not None:
                app.removeEventFilter(self)
            self._then(key)
            self.deleteLater()
        return True
