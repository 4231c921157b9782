"""Buttons with a name for those who hear and a hint for those who point."""

from __future__ import annotations

from PySide6.QtWidgets import QPushButton


def button(text: str, says: str, *, is_switch: bool = False) -> QPushButton:
    """A push button; `says`: its accessible name and hint. is_switch: it stays down."""
    made = QPushButton(text)
    made.setAccessibleName(says)
    made.setToolTip(says)
    made.setCheckable(is_switch)
    return made
