"""Sizes in millimetres on the glass: what a gloved finger hits and what an eye reads at 2 m."""

from __future__ import annotations

import math

from PySide6.QtGui import QFont, QFontMetricsF, QGuiApplication

TOUCH_MM = 12.0
"""The least height and width of anything that is pressed."""
READING_DISTANCE_MM = 2000.0
LEGIBLE_ARCMIN = 22.0
"""Height of a character seen from the reading distance. ISO 9241-303 recommends 20 to 22 minutes
of arc for legible text (from memory)."""
_DPI_LIMITS = (90.0, 300.0)  # screens that report nonsense, and those that report none


def dots_per_mm() -> float:
    """Device-independent pixels in one millimetre of the primary screen."""
    screens = QGuiApplication.screens()
    reported = screens[0].physicalDotsPerInch() if screens else _DPI_LIMITS[0]
    low, high = _DPI_LIMITS
    return min(max(reported, low), high) / 25.4


def mm(length: float) -> int:
    """Device-independent pixels of a length on the glass."""
    return math.ceil(length * dots_per_mm())


def touch() -> int:
    """The least size of anything that is pressed, in device-independent pixels."""
    return mm(TOUCH_MM)


def legible_digit_px() -> float:
    """The least height of a digit that is read at two metres."""
    height_mm = READING_DISTANCE_MM * math.tan(math.radians(LEGIBLE_ARCMIN / 60.0))
    return height_mm * dots_per_mm()


def digit_height(font: QFont) -> float:
    """The height of a digit's ink in a font."""
    return QFontMetricsF(font).tightBoundingRect("8").height()


def font_for_digits(base: QFont, height_px: float) -> QFont:
    """A bold copy of `base` in which a digit's ink is at least `height_px` high."""
    font = QFont(base)
    font.setBold(True)
    font.setPixelSize(100)
    font.setPixelSize(math.ceil(100.0 * height_px / digit_height(font)))
    return font
