"""Draw packaging/icons/*.png from the program's own SVG icon.

    python packaging/draw_icons.py

Run it after a change of the SVG and commit what it draws; a test draws again and compares.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QImage, QPainter
from PySide6.QtSvg import QSvgRenderer

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ROOT / "gaugebench" / "guide" / "pictures" / "gaugebench.svg"
FOLDER = ROOT / "packaging" / "icons"
SIZES = (16, 24, 32, 48, 64, 128, 256)


def draw(size: int) -> QImage:
    """The icon at `size` × `size` pixels, on nothing. Needs a `QGuiApplication`."""
    image = QImage(size, size, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(Qt.GlobalColor.transparent)
    painter = QPainter(image)
    QSvgRenderer(str(SOURCE)).render(painter)
    painter.end()
    return image.convertToFormat(QImage.Format.Format_ARGB32)


def main() -> int:
    """Draw every size."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    application = QGuiApplication([])
    for size in SIZES:
        target = FOLDER / f"{size}.png"
        if not draw(size).save(str(target)):
            print(f"{target} could not be written.", file=sys.stderr)
            return 1
    application.shutdown()
    return 0


if __name__ == "__main__":
    sys.exit(main())
