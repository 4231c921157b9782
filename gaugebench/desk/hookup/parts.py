"""Small parts that several pages of the place use."""

from __future__ import annotations

from PySide6.QtWidgets import QLabel, QLineEdit


def heading(text: str) -> QLabel:
    """A heading."""
    made = QLabel(text)
    made.setProperty("heading", True)  # noqa: FBT003 - Qt takes it so
    made.setWordWrap(True)
    return made


def said(text: str = "") -> QLabel:
    """A sentence that wraps."""
    made = QLabel(text)
    made.setWordWrap(True)
    return made


def line(says: str, example: str) -> QLineEdit:
    """A line of text with a name for those who hear."""
    made = QLineEdit()
    made.setAccessibleName(says)
    made.setPlaceholderText(example)
    return made


def show_trouble(label: QLabel, *, is_trouble: bool) -> None:
    """Dress a label as an alarm, or not."""
    if bool(label.property("trouble")) != is_trouble:
        label.setProperty("trouble", is_trouble)
        label.style().unpolish(label)
        label.style().polish(label)
