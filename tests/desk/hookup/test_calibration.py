"""How old a calibration is. Dates counted by hand; months of the calendar, as certificates do."""

from __future__ import annotations

from datetime import date

import pytest

from gaugebench.desk.hookup.calibration import in_words, is_overdue, months_since, warning
from gaugebench.model.channel import Channel, Transducer
from gaugebench.quantity import Dimension

TODAY = date(2026, 3, 31)


def _channel(done: date | None) -> Channel:
    return Channel("P1", transducer=Transducer(calibrated_on=done))


@pytest.mark.parametrize(
    ("then", "months", "overdue"),
    [
        (date(2026, 3, 31), 0, False),
        (date(2026, 3, 1), 0, False),
        (date(2026, 2, 28), 1, False),
        (date(2025, 4, 1), 11, False),
        (date(2025, 3, 31), 12, False),  # the last good day
        (date(2025, 3, 30), 12, True),
        (date(2024, 2, 29), 25, True),
        (date(2027, 1, 1), 0, False),
    ],
)
def test_months_are_those_of_the_calendar(then: date, months: int, overdue: bool) -> None:
    assert months_since(then, TODAY) == months
    assert is_overdue(then, TODAY, 12) is overdue


def test_an_old_calibration_is_warned_of_and_for_how_long_is_a_choice() -> None:
    channel = _channel(date(2024, 12, 15))
    assert "2024-12-15, 15 months ago: overdue" in warning(channel, TODAY, 12)
    assert warning(channel, TODAY, 18) == ""
    assert "has not come yet" in warning(_channel(date(2026, 4, 1)), TODAY, 12)
    assert warning(_channel(None), TODAY, 12) == ""
    assert warning(Channel("n", dimension=Dimension.SPEED), TODAY, 12) == ""


def test_all_together() -> None:
    old, new, none = (_channel(d) for d in (date(2024, 1, 1), date(2026, 1, 1), None))
    assert in_words([new], TODAY, 12) == ("Every calibration is in date.", False)
    words, is_bad = in_words([old, new, none], TODAY, 12)
    assert is_bad
    assert "1 of 3 transducers are to be calibrated again" in words
    assert "1 of 3 transducers have no calibration date" in words
    assert in_words([], TODAY, 12) == ("", False)
