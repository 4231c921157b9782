"""The Live place, driven with keys and mouse over a feed of arrays."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

if TYPE_CHECKING:
    from tests.desk.conftest import FakeFeed
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from gaugebench.desk.live.reader import Reader
from gaugebench.desk.live.readings import Readings, State
from gaugebench.desk.memory import Memory
from gaugebench.desk.scale import digit_height, dots_per_mm
from gaugebench.desk.window import DeskWindow
from gaugebench.model.mark import Standing
from gaugebench.model.quality import Quality

Make = Callable[..., "FakeFeed"]


@pytest.fixture
def window(qtbot: QtBot, memory: Memory, feed: FakeFeed) -> DeskWindow:
    made = DeskWindow(memory)
    qtbot.addWidget(made)
    made.resize(1600, 900)
    made.attach(feed)
    made.tabs.setCurrentWidget(made.live)
    made.show()
    qtbot.waitExposed(made)
    made.live.tick()
    return made


def _digits(window: DeskWindow) -> list[str]:
    window.live.row.renew(window.units.shown, speak=True)
    return [r.accessibleName() for r in window.live.row.readouts]


def test_readouts_stand_in_port_order_with_their_units(window: DeskWindow) -> None:
    said = _digits(window)
    names = [text.split(":")[0] for text in said]
    assert names == [
        "Pilot", "Pump 1", "Pump 1 control", "Pump 2", "Pump 2 control", "Engine", "Oil",
    ]  # fmt: skip
    assert "bar" in said[1]
    assert "rpm" in said[5]
    assert "°C" in said[6]


def test_digits_can_be_read_at_two_metres(window: DeskWindow) -> None:
    # ISO 9241-303: 20 to 22 minutes of arc (from memory); 22' at 2 m is 12.8 mm.
    for readout in window.live.row.readouts:
        assert digit_height(readout.digits_font()) >= 12.7 * dots_per_mm()


def test_the_units_switch_everywhere_at_once(window: DeskWindow, qtbot: QtBot) -> None:
    samples = window.live.picture.panes[0].lines.lines[0].data.y.copy()
    QTest.mouseClick(window.unit_bar.buttons["psi"], Qt.MouseButton.LeftButton)
    assert all("psi" in text for text in _digits(window)[:5])
    assert window.live.picture.panes[0].axis.labelText.endswith("psi")
    assert window.live.picture.panes[1].axis.labelText.endswith("psi")
    np.testing.assert_array_equal(window.live.picture.panes[0].lines.lines[0].data.y, samples)
    QTest.mouseClick(window.unit_bar.buttons["MPa"], Qt.MouseButton.LeftButton)
    assert all("MPa" in text for text in _digits(window)[:5])


def test_record_and_stop_with_the_mouse(
    window: DeskWindow, qtbot: QtBot, feed: FakeFeed, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[Path] = []
    monkeypatch.setattr(window.review, "open", opened.append)
    feed.sealing_s = 0.15
    bar = window.live.bar
    assert not bar.stop_button.isEnabled()
    QTest.mouseClick(bar.record_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: feed.record_state is not None, timeout=20_000)
    qtbot.waitUntil(bar.stop_button.isEnabled, timeout=20_000)
    assert not bar.record_button.isEnabled()
    window.ledger.renew()
    assert "Recording" in window.ledger.record.text()
    assert "visit.h5" in window.ledger.record.text()
    QTest.mouseClick(bar.stop_button, Qt.MouseButton.LeftButton)
    assert window.live.is_sealing
    qtbot.waitUntil(lambda: opened == [feed.folder / "visit.h5"], timeout=20_000)
    assert window.tabs.currentWidget() is window.review
    assert threading.current_thread().name not in feed.threads  # neither on the window's thread


def test_space_sets_a_mark_with_the_note_that_stands(
    window: DeskWindow, qtbot: QtBot, feed: FakeFeed
) -> None:
    note = window.live.bar.note
    note.setFocus()
    QTest.keyClicks(note, "main relief as found")
    assert note.text() == "main relief as found"  # a space in a note is a space
    window.live.picture.setFocus()
    QTest.keyClick(window.live.picture, Qt.Key.Key_Space)
    assert feed.found[-1].note == "main relief as found"
    assert feed.found[-1].time_s == feed.clock_s
    assert note.text() == ""


def test_coming_to_live_by_its_tab_a_space_marks_and_is_typed_nowhere(
    window: DeskWindow, qtbot: QtBot, feed: FakeFeed
) -> None:
    window.tabs.setCurrentWidget(window.worksheet)
    tabs = window.tabs.tabBar()
    at = tabs.tabRect(window.tabs.indexOf(window.live)).center()
    QTest.mouseClick(tabs, Qt.MouseButton.LeftButton, pos=at)
    assert window.tabs.currentWidget() is window.live
    before = len(feed.found)
    QTest.keyClick(window.focusWidget(), Qt.Key.Key_Space)
    assert len(feed.found) == before + 1
    assert window.live.leader.bar.say.text() == ""


def test_a_space_on_another_place_sets_no_mark(
    window: DeskWindow, qtbot: QtBot, feed: FakeFeed
) -> None:
    before = len(feed.found)
    window.tabs.setCurrentWidget(window.review)
    QTest.keyClick(window, Qt.Key.Key_Space)
    assert len(feed.found) == before


def test_provisional_marks_look_and_read_differently(window: DeskWindow, feed: FakeFeed) -> None:
    layer = window.live.picture.panes[0].marks
    by_key = {m.key: m for m in layer.marks}
    final, provisional = by_key["0/pump1/relief crack"], by_key["1/pump2/relief crack"]
    assert layer.line_pen(provisional).style() is Qt.PenStyle.CustomDashLine
    assert layer.line_pen(final).style() is Qt.PenStyle.SolidLine
    words = window.live.picture.panes[0].words
    assert words is not None
    assert "provisional" in words.text(provisional)
    assert "provisional" not in words.text(final)
    listed = [window.live.happenings.list.item(i).text() for i in range(2)]
    assert listed[0].startswith("○")
    assert "(provisional)" in listed[0]
    assert listed[1].startswith("●")


def test_a_mark_that_becomes_final_is_not_doubled(window: DeskWindow, feed: FakeFeed) -> None:
    feed.found[1] = replace(feed.found[1], standing=Standing.FINAL, time_s=14.2)
    for _ in range(6):
        window.live.tick()
    assert [m.time_s for m in window.live.picture.panes[0].marks.marks] == [4.14, 14.2]
    assert window.live.happenings.list.count() == 2


def test_the_stretch_shown_goes_from_five_seconds_to_ten_minutes(
    window: DeskWindow, qtbot: QtBot
) -> None:
    bar = window.live.bar
    for _ in range(12):
        QTest.mouseClick(bar.shorter, Qt.MouseButton.LeftButton)
    assert window.live.picture.length_s == 5.0
    assert bar.shown.text() == "5 s"
    window.live.tick()
    start, end = window.live.picture.view
    assert end - start == pytest.approx(5.0)
    for _ in range(12):
        QTest.mouseClick(bar.longer, Qt.MouseButton.LeftButton)
    assert window.live.picture.length_s == 600.0
    assert bar.shown.text() == "10 min"


def test_a_held_picture_stands_still_and_misses_nothing(
    window: DeskWindow, qtbot: QtBot, feed: FakeFeed
) -> None:
    before = window.live.picture.view
    QTest.mouseClick(window.live.bar.hold_button, Qt.MouseButton.LeftButton)
    for _ in range(5):
        feed.clock_s += 0.4
        window.live.tick()
    assert window.live.picture.view == before
    QTest.mouseClick(window.live.bar.hold_button, Qt.MouseButton.LeftButton)
    window.live.tick()
    line = window.live.picture.panes[0].lines.lines[0].data
    assert line.x[-1] == pytest.approx(feed.clock_s, abs=0.05)
    assert np.isfinite(line.y).all()


def test_trouble_with_the_record_is_said_in_the_window(window: DeskWindow, feed: FakeFeed) -> None:
    feed.start_recording()
    assert feed.record_state is not None
    feed.record_state.trouble = "The disk is full; free some space."
    feed.sources[0].alive = False
    feed.sources[0].said = "plug pulled"
    window.live.renew_state()
    window.ledger.renew()
    assert window.live.notice.text == "The disk is full; free some space."
    assert "plug pulled" in window.ledger.sources.text()
    assert window.ledger.sources.property("trouble") is True
    feed.record_state = None


def test_simulated_is_said_in_the_window_and_its_title(window: DeskWindow) -> None:
    assert window.simulated.isVisible()
    assert "SIMULATED" in window.simulated.text()
    assert "SIMULATED" in window.windowTitle()


def test_a_kit_on_a_machine_is_not_called_simulated(
    qtbot: QtBot, memory: Memory, feed: FakeFeed
) -> None:
    feed.simulated = False
    window = DeskWindow(memory)
    qtbot.addWidget(window)
    window.attach(feed)
    window.show()
    assert not window.simulated.isVisible()
    assert "SIMULATED" not in window.windowTitle()


def test_closing_asks_while_a_record_runs(
    window: DeskWindow, feed: FakeFeed, monkeypatch: pytest.MonkeyPatch
) -> None:
    feed.start_recording()
    monkeypatch.setattr(window, "_may_close", lambda: False)
    assert not window.close()
    assert window.isVisible()
    feed.record_state = None
    assert window.close()


def _readings(feed: FakeFeed) -> Readings:
    reader = Reader(feed, look_back_s=5.0)
    readings = Readings([list(s.channels) for s in feed.streams])
    readings.take(reader.new(), feed.now_s())
    return readings


def test_the_reader_hands_out_every_sample_once(make_feed: Make) -> None:
    feed = make_feed(at_s=5.0)
    reader = Reader(feed, look_back_s=5.0)
    got = [reader.new()[0].times]
    for step in (0.04, 0.2, 0.0, 3.0):
        feed.clock_s += step
        got.append(reader.new()[0].times)
    times = feed.data[0].times
    np.testing.assert_array_equal(np.concatenate(got), times[times < feed.clock_s])


@pytest.mark.parametrize(
    ("flag", "state"),
    [
        (Quality.WIRE_OFF, State.WIRE_OFF),
        (Quality.CLIPPED, State.CLIPPED),
        (Quality.OVER_RANGE, State.OVER_RANGE),
        (Quality.MISSING, State.MISSING),
    ],
)
def test_states_are_said_in_words(make_feed: Make, flag: Quality, state: State) -> None:
    feed = make_feed()
    data = feed.data[0]
    data.quality[data.times > 19.9, 1] |= np.uint16(flag)
    if flag in Quality.WIRE_OFF | Quality.MISSING:
        data.values[data.times > 19.9, 1] = np.nan
    reading = _readings(feed).readings[1]
    assert reading.state is state
    assert np.isnan(reading.value) == (flag in Quality.WIRE_OFF | Quality.MISSING)


def test_a_channel_that_stands_still_while_others_move_is_called_stuck(make_feed: Make) -> None:
    feed = make_feed(at_s=16.0)
    feed.data[0].values[:, 3] = 0.0
    states = [r.state for r in _readings(feed).readings]
    assert states[3] is State.STUCK
    assert states[1] is State.GOOD


def test_a_source_that_falls_silent_shows_no_value(make_feed: Make) -> None:
    feed = make_feed(seconds=24.0, at_s=24.0)
    readings = _readings(feed)
    feed.clock_s = 27.0
    readings.take(Reader(feed, look_back_s=0.0).new(), feed.now_s())
    assert all(r.state is State.SILENT and np.isnan(r.value) for r in readings.readings)


def test_extremes_keep_a_spike_of_one_sample(make_feed: Make) -> None:
    feed = make_feed()
    data = feed.data[0]
    data.values[np.searchsorted(data.times, 19.0), 1] = 6.0e7
    readings = _readings(feed)
    assert readings.readings[1].greatest == 6.0e7
    assert readings.readings[1].value < 4.0e7
    readings.reset_extremes()
    assert np.isnan(readings.readings[1].greatest)
