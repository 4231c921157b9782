"""A trace too long for memory: drawn from its overview, refined where it is looked at."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from gaugebench.analyse.figures import analyse
from gaugebench.desk.memory import Memory
from gaugebench.desk.review import longtrace
from gaugebench.desk.review.longtrace import LongTrace
from gaugebench.desk.review.values import value_at
from gaugebench.desk.window import DeskWindow
from gaugebench.model.channel import Channel
from gaugebench.model.role import Role
from gaugebench.model.trace import Series, Trace
from gaugebench.store.tracefile import TraceFile, write_trace

WAIT = 30_000
RATE = 1000.0


@pytest.fixture(scope="module")
def long_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A minute at 1 kHz with two stalls, a spike of one sample and a gap; and a slow channel."""
    times = np.arange(60_000) / RATE
    times = np.delete(times, slice(30_000, 31_000))
    load = np.zeros(len(times))
    for start in (5.0, 40.0):
        load = np.maximum(load, np.clip((times - start) / 0.15, 0, 1) * (times < start + 4))
    noise = np.random.default_rng(8).normal(size=len(times))
    values = 2.5e6 + 3.18e7 * load + 1e5 * noise
    values[25_000] = 5.0e7
    main = Channel("P1", Role.main(1))
    oil = Channel("Oil", Role("oil.temperature"), Role("oil.temperature").dimension)
    slow = np.arange(0.0, 60.0, 1.0)
    series = (
        Series(main, times, values, np.zeros(len(times), np.uint16)),
        Series(oil, slow, 50 + slow / 10, np.zeros(len(slow), np.uint16), "slow"),
    )
    return write_trace(Trace(series), tmp_path_factory.mktemp("long") / "day.h5")


@pytest.fixture
def long(long_file: Path, monkeypatch: pytest.MonkeyPatch) -> LongTrace:
    monkeypatch.setattr(longtrace, "MOST_BINS", 5000)
    return LongTrace(TraceFile(long_file))


def test_the_coarse_picture_keeps_the_spike_and_the_gap(long: LongTrace) -> None:
    assert long.step == 256
    line = long.line(0, 0.0, 60.0, 200)
    assert np.nanmax(line.y) == 5.0e7
    inside = (line.x > 29.9) & (line.x < 31.1)
    assert np.isnan(line.y[inside]).any()
    assert long.head().span_s == (0.0, 0.0)
    assert long.memory_bytes < 200_000


def test_what_is_looked_at_closely_is_fetched_with_its_surroundings(long: LongTrace) -> None:
    assert long.wish(0.0, 60.0, 200) is None
    wish = long.wish(24.0, 26.0, 1000)
    assert wish is not None
    assert (wish.start_s, wish.end_s) == (22.0, 28.0)
    long.near = long.fetch(wish)
    assert long.near.step == 1
    assert long.wish(23.5, 27.0, 1000) is None
    line = long.line(0, 24.0, 26.0, 1000)
    assert not long.far[0].line(24.0, 26.0, 1000).y.size > line.y.size
    assert line.x[int(np.argmax(line.y))] == pytest.approx(25.0, abs=0.003)
    assert long.line(1, 24.0, 26.0, 1000).y[0] == pytest.approx(52.3, abs=0.11)
    assert long.wish(40.0, 42.0, 1000) is not None
    end = long.wish(59.0, 61.0, 1000)
    assert end is not None
    assert end.end_s == pytest.approx(59.999)


@pytest.fixture
def window(
    qtbot: QtBot, memory: Memory, long_file: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[DeskWindow]:
    monkeypatch.setattr(longtrace, "LONG_SAMPLES", 10_000)
    monkeypatch.setattr(longtrace, "MOST_BINS", 5000)
    made = DeskWindow(memory)
    qtbot.addWidget(made)
    made.resize(1600, 900)
    made.show()
    qtbot.waitExposed(made)
    made.open_trace(long_file)
    qtbot.waitUntil(lambda: made.review.opened is not None, timeout=WAIT)
    yield made
    made.close()


def test_it_opens_pans_and_is_refined_in_the_window(
    window: DeskWindow, qtbot: QtBot, long_file: Path
) -> None:
    review = window.review
    opened = review.opened
    assert opened is not None
    assert opened.long is not None
    assert all(len(s) == 0 for s in opened.trace.series)
    assert review.picture.view == pytest.approx((0.0, 59.999), abs=0.1)
    review.picture.go(24.0, 26.0)
    qtbot.waitUntil(lambda: opened.long.near is not None, timeout=WAIT)  # type: ignore[union-attr]
    line = review.picture.panes[0].lines.lines[0].data
    whole = TraceFile(long_file).trace()
    assert np.nanmax(line.y) == 5.0e7
    qtbot.waitUntil(lambda: window.workers.busy == 0, timeout=WAIT)
    QTest.keyClick(window, Qt.Key.Key_C)
    at = review.cursors.times[0]
    shown = review.side.cursors.table.item(1, 1)
    assert shown is not None
    channel = whole.series[0].channel
    expected = window.units.shown.text(value_at(whole.series[0], at), channel.dimension)
    assert shown.text() == expected


def test_its_figures_are_taken_when_asked_for_and_can_stand_side_by_side(
    window: DeskWindow, qtbot: QtBot, long_file: Path
) -> None:
    review = window.review
    assert review.analysis.take_button.isVisible()
    assert "not taken yet" in review.analysis.title.text()
    QTest.mouseClick(review.analysis.take_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: len(review.analysis.figures.loadings) == 2, timeout=WAIT)
    whole = analyse(TraceFile(long_file).trace())
    assert review.opened is not None
    assert [m.key for m in review.opened.marks] == [m.key for m in whole.marks]
    assert not review.analysis.take_button.isVisible()
    assert not review.progress.isVisible()
    window.compare.take(review.opened)
    one = window.compare.sides[0].side
    assert one is not None
    assert window.compare.picture.panes
    drawn = window.compare.picture.panes[0].lines.lines[0].data
    assert np.nanmax(drawn.y) > 3.3e7


def test_a_stretch_of_it_is_read_in_the_roles_that_stand(window: DeskWindow) -> None:
    opened = window.review.opened
    assert opened is not None
    first, second = opened.trace.series
    other = replace(first, channel=replace(first.channel, role=Role.main(2)))
    changed = replace(opened, trace=replace(opened.trace, series=(other, second)))
    part = changed.between(5.0, 6.0)
    assert [s.channel.role for s in part.series] == [Role.main(2), Role("oil.temperature")]
    assert len(part.series[0]) == 1000
    assert [s.channel.name for s in changed.between(5.0, 6.0, Role.main(2)).series] == ["P1"]
