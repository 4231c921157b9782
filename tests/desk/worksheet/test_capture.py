"""A reading asked for in Live waits until it has settled; a hold without a record costs heat."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from gaugebench.model.job import ReadingTaken
from gaugebench.procedure.state import JobState

if TYPE_CHECKING:
    from tests.desk.conftest import FakeFeed
    from tests.desk.worksheet.conftest import Bench


class Holding:
    """A job at the swing relief, in Live, during the feed's second hold (from 14.15 to 18 s)."""

    def __init__(self, bench: Bench, feed: FakeFeed) -> None:
        self.bench, self.feed = bench, feed
        bench.practise()
        bench.under_load()
        bench.place.checks.choose("swing-relief")
        bench.window.attach(feed)
        bench.window.tabs.setCurrentWidget(bench.window.live)
        bench.window.live._timer.stop()

    @property
    def state(self) -> JobState:
        assert self.bench.place.job.sheet is not None
        return self.bench.place.job.sheet.state

    @property
    def reading(self) -> ReadingTaken | None:
        return self.state.latest("swing-relief")

    @property
    def told(self) -> str:
        return self.bench.window.live.notice.text

    def key(self, key: Qt.Key) -> None:
        QTest.keyClick(self.bench.window.live.picture, key)

    def frames(self, seconds: float) -> None:
        for _ in range(round(seconds * 25)):
            self.feed.clock_s += 0.04
            self.bench.clock.pass_s(0.04)
            self.bench.window.live.tick()


@pytest.fixture
def holding(bench: Bench, make_feed: Callable[..., FakeFeed]) -> Holding:
    return Holding(bench, make_feed(at_s=16.0))


def test_a_reading_waits_until_it_was_held_long_enough(holding: Holding) -> None:
    live = holding.bench.window.live
    QTest.mouseClick(live.bar.found_button, Qt.MouseButton.LeftButton)
    assert holding.told.startswith("Waits for “Swing relief”: it is read by itself")
    assert live.bar.found_button.text() == "Stop waiting"
    holding.frames(0.4)
    assert not holding.state.readings
    marks = len(holding.feed.found)
    holding.feed.stall.is_settled = True
    holding.frames(0.4)
    assert holding.reading is not None
    # The feed holds pump 2 at 26 + 323 bar.
    assert holding.reading.value.value == pytest.approx(349e5, rel=0.005)
    assert holding.feed.found[-1].note.startswith("As found, Swing relief: 3")
    assert len(holding.feed.found) == marks + 1
    assert holding.told == ""
    assert live.bar.found_button.text() == "As found (F5)"


def test_nothing_is_read_where_the_lever_is_let_go_too_early(holding: Holding) -> None:
    holding.key(Qt.Key.Key_F5)
    holding.frames(2.8)
    assert holding.told.startswith("Let go before it had settled: nothing was read.")
    assert holding.reading is None
    assert holding.bench.window.live.waiting is None


def test_a_second_press_or_another_check_ends_the_waiting(holding: Holding) -> None:
    holding.key(Qt.Key.Key_F5)
    holding.key(Qt.Key.Key_F5)
    assert holding.told == "No longer waiting; nothing was read."
    holding.key(Qt.Key.Key_F5)
    holding.bench.place.checks.choose("pump1-cut-off")
    holding.feed.stall.is_settled = True
    holding.frames(1.2)
    assert holding.told == "Another check is chosen now; nothing was read."
    assert not holding.state.readings


def test_a_reading_is_not_waited_for_for_ever(holding: Holding) -> None:
    holding.feed.clock_s = 20.0  # no hold stands
    holding.key(Qt.Key.Key_F5)
    assert holding.told.startswith("Waits for")
    holding.feed.clock_s = 81.0
    holding.bench.window.live._frame = 0
    holding.bench.window.live.tick()
    assert holding.told == "Nothing settled within 60 s: nothing was read."


def test_a_hold_without_a_record_is_in_the_jobs_heat_budget(holding: Holding) -> None:
    place = holding.bench.place
    holding.frames(2.0)
    place.job.following = True  # as while a trace is gone through
    holding.frames(1.2)
    assert not holding.state.stalls
    place.job.following = False
    holding.frames(1.2)
    (stall,) = holding.state.stalls
    # The hold stood from 16 s, when Live was opened, to 18 s; all that both pumps deliver at
    # 343 and 349 bar and 220 L/min each (P = p·Q/600 kW) went into the oil at most.
    assert stall.seconds == pytest.approx(2.0, abs=0.2)
    assert stall.power_w == pytest.approx((343 + 349) * 220 / 600 * 1e3, rel=0.03)
    assert place.status.stall.text().startswith("Heat: 2 of 10 s. No stall yet: Wait")
    holding.frames(1.2)
    assert len(holding.state.stalls) == 1
