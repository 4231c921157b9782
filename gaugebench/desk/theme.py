"""Colours: light by default, dark and high contrast as choices.

Curves take their colours from the palette of Okabe and Ito (2008, “Color Universal Design”), which
people with any common colour deficiency tell apart. Colour says which pump; the shape that rides
on the line and the name at its end say the same without colour.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from gaugebench.model.role import Role


class Shape(StrEnum):
    """What rides on a line, so that it is told apart without its colour."""

    DISC = "disc"
    SQUARE = "square"
    TRIANGLE = "triangle"
    DIAMOND = "diamond"
    CROSS = "cross"


SHAPES = (Shape.DISC, Shape.SQUARE, Shape.TRIANGLE, Shape.DIAMOND, Shape.CROSS)


@dataclass(frozen=True, slots=True)
class Theme:
    """All colours of one theme, as #rrggbb."""

    key: str
    title: str
    window: str
    panel: str
    text: str
    muted: str
    hint: str
    line: str
    grid: str
    accent: str
    on_accent: str
    alarm: str
    on_alarm: str
    simulated: str
    on_simulated: str
    span: str
    pumps: tuple[str, ...]
    others: tuple[str, ...]
    border_px: int = 1

    def of_pump(self, pump: int) -> str:
        """The colour of a pump, numbered from 1."""
        return self.pumps[(pump - 1) % len(self.pumps)]

    def colour(self, role: Role | None, place: int) -> str:
        """The colour of a line: its pump's, or by its `place` among the others."""
        if role is not None and role.pump is not None:
            return self.of_pump(role.pump)
        return self.others[place % len(self.others)]

    def shape(self, role: Role | None, place: int) -> Shape:
        """The shape on a line: as `colour`, with shapes of the others after those of pumps."""
        if role is not None and role.pump is not None:
            return SHAPES[(role.pump - 1) % 2]
        return SHAPES[2 + place % 3]


# Okabe–Ito: black, orange E69F00, sky blue 56B4E9, bluish green 009E73, yellow F0E442,
# blue 0072B2, vermilion D55E00, reddish purple CC79A7. Each theme takes those that stand out
# from its ground by at least 3 to 1 (WCAG 2.2, 1.4.11); a test works that out.
LIGHT = Theme(
    key="light",
    title="Light",
    window="#f1f3f5",
    panel="#ffffff",
    text="#101418",
    muted="#4a545e",
    hint="#67717b",
    line="#8a949e",
    grid="#d9dee3",
    accent="#0b5cad",
    on_accent="#ffffff",
    alarm="#b00020",
    on_alarm="#ffffff",
    simulated="#ffd84d",
    on_simulated="#101418",
    span="#cfe3f5",
    pumps=("#0072b2", "#d55e00", "#009e73"),
    others=("#101418", "#009e73", "#8f4a73"),
)
DARK = Theme(
    key="dark",
    title="Dark",
    window="#1b1f24",
    panel="#12151a",
    text="#f2f4f6",
    muted="#b4bdc6",
    hint="#98a2ac",
    line="#66707a",
    grid="#2c333a",
    accent="#56b4e9",
    on_accent="#0b0d10",
    alarm="#ff6b6b",
    on_alarm="#0b0d10",
    simulated="#f0e442",
    on_simulated="#0b0d10",
    span="#23405a",
    pumps=("#56b4e9", "#e69f00", "#cc79a7"),
    others=("#f2f4f6", "#00b386", "#cc79a7"),
)
HIGH_CONTRAST = Theme(
    key="contrast",
    title="High contrast",
    window="#000000",
    panel="#000000",
    text="#ffffff",
    muted="#ffffff",
    hint="#b0b0b0",
    line="#ffffff",
    grid="#555555",
    accent="#f0e442",
    on_accent="#000000",
    alarm="#ff8a80",
    on_alarm="#000000",
    simulated="#f0e442",
    on_simulated="#000000",
    span="#1f4f77",
    pumps=("#56b4e9", "#f0e442", "#cc79a7"),
    others=("#ffffff", "#00c896", "#ff9ecf"),
    border_px=2,
)
THEMES = {theme.key: theme for theme in (LIGHT, DARK, HIGH_CONTRAST)}


def contrast(one: str, other: str) -> float:
    """The contrast ratio of two colours, 1 to 21 (WCAG 2.2, “contrast ratio”)."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
