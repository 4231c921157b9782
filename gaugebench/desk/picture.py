"""Pictures of the window, as a file."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QPoint
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QWidget

from gaugebench.errors import GaugebenchError


def take(widget: QWidget, scale: float = 1.0) -> QImage:
    """A picture of a widget as it stands, `scale` image dots for each of its own."""
    image = QImage(widget.size() * scale, QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(scale)
    painter = QPainter(image)
    widget.render(painter, QPoint())
    painter.end()
    return image


def save(window: QWidget, path: Path, scale: float = 1.0) -> Path:
    """Save a picture of a window as PNG. Raises `GaugebenchError` where it cannot be written."""
    if not take(window, scale).save(str(path)):
        raise GaugebenchError(f"The picture {path} cannot be written; choose another folder.")
    return path
