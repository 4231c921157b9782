"""Colours that stand out. Limits: WCAG 2.2, 1.4.3 (text) and 1.4.11 (graphics)."""

from __future__ import annotations

import pytest

from gaugebench.desk.theme import THEMES, Theme, contrast
from gaugebench.model.role import Role


def test_contrast_is_that_of_the_standard() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)  # WCAG's own example


@pytest.mark.parametrize("theme", list(THEMES.values()), ids=lambda t: str(t.key))
def test_text_stands_out(theme: Theme) -> None:
    for ground in (theme.window, theme.panel, theme.span):
        assert contrast(theme.text, ground) >= 7.0
    assert contrast(theme.muted, theme.panel) >= 4.5
    assert contrast(theme.muted, theme.window) >= 4.5
    assert contrast(theme.hint, theme.panel) >= 4.5
    assert contrast(theme.hint, theme.text) >= 1.8  # an example does not look like a value
    for ink, ground in (
        (theme.on_accent, theme.accent),
        (theme.on_alarm, theme.alarm),
        (theme.on_simulated, theme.simulated),
    ):
        assert contrast(ink, ground) >= 4.5


@pytest.mark.parametrize("theme", list(THEMES.values()), ids=lambda t: str(t.key))
def test_lines_stand_out(theme: Theme) -> None:
    for colour in (*theme.pumps, *theme.others):
        assert contrast(colour, theme.panel) >= 3.0, colour


@pytest.mark.parametrize("theme", list(THEMES.values()), ids=lambda t: str(t.key))
def test_two_pumps_differ_in_colour_and_in_shape(theme: Theme) -> None:
    one, two = Role.main(1), Role.main(2)
    assert theme.colour(one, 0) != theme.colour(two, 0)
    assert theme.shape(one, 0) != theme.shape(two, 0)
    assert theme.colour(one, 0) == theme.colour(Role.control(1), 0)
