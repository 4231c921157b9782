"""Levers, screws and exercises of the practice machine, by keys and mouse."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QFontMetricsF, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QCheckBox, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from gaugebench.desk.live.byhand import ENDS
from gaugebench.desk.live.lever import FULL, Lever
from gaugebench.desk.live.side import Side
from gaugebench.desk.live.work import Work
from gaugebench.desk.shown import Shown
from gaugebench.desk.theme import LIGHT
from gaugebench.desk.words import speak
from gaugebench.desk.work import Workers
from gaugebench.model.job import Hands as State
from gaugebench.model.job import Phase
from gaugebench.simulate.exercise import true_reading
from gaugebench.simulate.lessons import AIMS
from gaugebench.simulate.perform import Hands
from gaugebench.simulate.plant import BAR
from gaugebench.simulate.screws import setting
from gaugebench.simulate.source import MachineSource
from gaugebench.simulate.visit import free_script

LEFT = Qt.MouseButton.LeftButton
PANE_PX = 335
"""How wide a lever is in a window of 1366 points."""


class StandingClock:
    """Stands until it is moved."""

    def __init__(self) -> None:
        self.at = 0.0

    def now(self) -> float:
        return self.at

    def sleep(self, seconds: float) -> None:
        raise AssertionError(f"nobody waits {seconds} s here")


class Bench:
    """The panes beside the picture, on a machine whose time is moved by hand."""

    def __init__(self, side: Side) -> None:
        self.side, self.clock = side, StandingClock()
        self.machine = self.connect()

    def connect(self) -> MachineSource:
        """Put the kit on, as connecting does: what was open is let go first."""
        self.side.show_machine(None)
        self.machine = MachineSource(free_script(), self.clock, rate_hz=100.0, hands=Hands())
        self.side.show_machine(self.machine)
        return self.machine

    def run(self, seconds: float) -> None:
        self.clock.at += seconds
        while self.machine._due() > self.machine._next:
            self.machine.read(0.0)

    @property
    def main(self) -> tuple[float, float]:
        """The mains as a faultless gauge sees them, bar."""
        one, two = self.machine.performance.machine.reading().main
        return one / BAR, two / BAR

    def stands(self, screw: str) -> float:
        return setting(self.machine.performance.plant, screw) / BAR

    def state(self, hands: State) -> None:
        self.side.renew(Work(hands, Phase.AS_FOUND), Shown())


@pytest.fixture
def bench(qtbot: QtBot) -> Iterator[Bench]:
    workers = Workers()
    side = Side(LIGHT, workers)
    qtbot.addWidget(side)
    side.resize(380, 700)
    made = Bench(side)
    side.show()
    qtbot.waitExposed(side)
    yield made
    workers.close()


def click(side: Side, widget: QPushButton | QCheckBox) -> None:
    show(side, widget)
    assert widget.isEnabled(), widget.text()
    at = QPoint(10, widget.height() // 2) if isinstance(widget, QCheckBox) else QPoint()
    QTest.mouseClick(widget, LEFT, pos=at)


def show(side: Side, widget: QWidget) -> None:
    for n in range(side.count()):
        page = side.widget(n)
        if page is not None and page.isAncestorOf(widget):
            side.setCurrentIndex(n)
    assert widget.isVisible()


def start(bench: Bench) -> None:
    click(bench.side, bench.side.cab.engine["high"])
    bench.run(4.0)


def test_a_lever_is_pushed_by_the_mouse_and_springs_back(bench: Bench) -> None:
    lever = bench.side.cab.levers["bucket"]
    show(bench.side, lever)
    start(bench)
    middle = lever.height() // 2
    QTest.mousePress(lever, LEFT, pos=QPoint(lever.width() - 2, middle))
    assert lever.value() == FULL
    bench.run(2.0)
    assert bench.main[0] > 300, "the bucket stands against its stop"
    assert bench.main[1] < 40
    QTest.mouseMove(lever, QPoint(lever.width() // 2 + lever.width() // 4, middle))
    QTest.mouseRelease(lever, LEFT, pos=QPoint(lever.width() // 2, middle))
    assert lever.value() == 0
    bench.run(2.0)
    assert bench.main[0] < 40


@pytest.mark.parametrize(
    ("key", "value"),
    [(Qt.Key.Key_Right, 100), (Qt.Key.Key_Left, -100), (Qt.Key.Key_Up, 50), (Qt.Key.Key_Down, -50)],
)
def test_keys_push_it_while_they_are_down(bench: Bench, key: Qt.Key, value: int) -> None:
    lever = bench.side.cab.levers["arm"]
    show(bench.side, lever)
    lever.setFocus()
    QTest.keyPress(lever, key)
    assert lever.value() == value
    assert bench.machine.hands is not None
    assert bench.machine.hands.take()[0] == {"arm": value / 100}
    QTest.keyRelease(lever, key)
    assert lever.value() == 0
    assert bench.machine.hands.take()[0] == {}


def test_nobody_holds_a_lever_that_lost_the_focus_unless_it_stays(bench: Bench) -> None:
    cab = bench.side.cab
    boom, arm = cab.levers["boom"], cab.levers["arm"]
    show(bench.side, boom)
    boom.setFocus()
    QTest.keyPress(boom, Qt.Key.Key_Right)
    arm.setFocus()
    assert boom.value() == 0
    click(bench.side, cab.stay)
    boom.setFocus()
    QTest.keyClick(boom, Qt.Key.Key_Right)
    arm.setFocus()
    QTest.keyClick(arm, Qt.Key.Key_Left)
    assert (boom.value(), arm.value()) == (FULL, -FULL)
    QTest.keyClick(boom, Qt.Key.Key_0)
    assert boom.value() == 0
    click(bench.side, cab.stay)
    assert arm.value() == 0


def test_a_wheel_scrolls_past_a_lever_and_does_not_push_it(bench: Bench) -> None:
    lever = bench.side.cab.levers["swing"]
    show(bench.side, lever)
    lever.setFocus()
    at = QPointF(lever.rect().center())
    turned = QWheelEvent(
        at, lever.mapToGlobal(at), QPoint(), QPoint(0, 120), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,  # noqa: FBT003
    )  # fmt: skip
    QApplication.sendEvent(lever, turned)
    assert lever.value() == 0


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_words_of_every_lever_stand_clear_of_its_grip(qtbot: QtBot, language: str) -> None:
    speak(language)
    from gaugebench.desk.words import tr

    for name, (left, right) in ENDS.items():
        lever = Lever(tr(name), (tr(left), tr(right)), LIGHT)
        qtbot.addWidget(lever)
        lever.resize(PANE_PX, 46)
        grip, metrics = lever.grip(), QFontMetricsF(lever.font())
        assert lever.end_words() == lever.ends, "all of them are there"
        assert metrics.horizontalAdvance(lever.ends[0]) + 8 < grip.left()
        assert lever.width() - metrics.horizontalAdvance(lever.ends[1]) - 8 > grip.right()
        assert 2 * metrics.height() <= grip.height() + 2
        lever.resize(180, 46)
        assert all(metrics.horizontalAdvance(w) < grip.left() for w in lever.end_words())


def test_hands_in_locks_the_levers_but_not_the_engine(bench: Bench) -> None:
    cab = bench.side.cab
    lever = cab.levers["boom"]
    show(bench.side, lever)
    lever.setFocus()
    QTest.keyPress(lever, Qt.Key.Key_Right)
    bench.state(State.IN)
    assert lever.value() == 0
    assert not any(each.isEnabled() for each in cab.levers.values())
    assert cab.note.isVisible()
    start(bench)
    assert bench.machine.performance.machine.reading().rpm == pytest.approx(2040, abs=30)
    bench.state(State.UNDER_LOAD)
    assert all(each.isEnabled() for each in cab.levers.values())
    assert not cab.note.isVisible()
    assert "°C" in cab.tank.text()


def test_the_engine_and_the_switches_of_the_cab(bench: Bench) -> None:
    cab = bench.side.cab
    assert cab.engine["off"].isChecked()
    click(bench.side, cab.engine["low"])
    bench.run(4.0)
    assert bench.machine.performance.machine.reading().rpm == pytest.approx(940, abs=20)
    click(bench.side, cab.switches["cut-off"])
    click(bench.side, cab.switches["boost"])
    bench.run(0.1)
    demand = bench.machine.performance.machine.demand
    assert (demand.cut_off, demand.boost, demand.fast) == (False, True, False)
    click(bench.side, cab.engine["off"])
    bench.run(0.1)
    assert bench.machine.performance.is_off


def test_screws_are_turned_with_hands_in_and_their_turns_are_counted(bench: Bench) -> None:
    screws = bench.side.screws
    bench.state(State.UNDER_LOAD)
    show(bench.side, screws.screw)
    assert not any(each.isEnabled() for each in screws.steps.values())
    assert "nobody is at the screws" in screws.note.text()
    bench.state(State.IN)
    before = bench.stands("relief 2")
    screws.screw.setFocus()
    QTest.keyClicks(screws.screw, "relief 2")
    assert screws.screw.currentText() == "relief 2"
    click(bench.side, screws.steps[90])
    click(bench.side, screws.steps[30])
    click(bench.side, screws.steps[-30])
    click(bench.side, screws.steps[30])
    bench.run(0.1)
    # A turn is 120 bar.
    assert bench.stands("relief 2") - before == pytest.approx(120 / 3)
    assert screws.turned.text() == "relief 2: 120° inwards"


def test_a_drive_that_is_held_fast_stalls(bench: Bench) -> None:
    click(bench.side, bench.side.screws.pins["travel left"])
    start(bench)
    lever = bench.side.cab.levers["travel left"]
    show(bench.side, lever)
    lever.setFocus()
    QTest.keyPress(lever, Qt.Key.Key_Right)
    bench.run(2.5)
    held = bench.main[1]
    QTest.keyRelease(lever, Qt.Key.Key_Right)
    click(bench.side, bench.side.screws.pins["travel left"])
    bench.run(2.0)
    QTest.keyPress(lever, Qt.Key.Key_Right)
    bench.run(2.5)
    assert held > bench.main[1] + 50
    QTest.keyRelease(lever, Qt.Key.Key_Right)


def begin(bench: Bench, title: str) -> None:
    pane = bench.side.exercise
    show(bench.side, pane.choice)
    pane.choice.setFocus()
    for _ in range(pane.choice.count()):
        if pane.choice.currentText() == title:
            break
        QTest.keyClick(pane.choice, Qt.Key.Key_Down)
    assert pane.choice.currentText() == title
    click(bench.side, pane.begin_button)


def name_fault(bench: Bench, words: str) -> None:
    """Tick it with the mouse."""
    claims = bench.side.exercise.claims
    row = next(n for n in range(claims.count()) if claims.item(n).text() == words)
    claims.scrollToItem(claims.item(row))
    box = claims.visualItemRect(claims.item(row))
    QTest.mouseClick(claims.viewport(), LEFT, pos=QPoint(box.left() + 12, box.center().y()))
    assert claims.item(row).checkState() is Qt.CheckState.Checked


def end(bench: Bench, qtbot: QtBot) -> list[str]:
    pane = bench.side.exercise
    click(bench.side, pane.end_button)
    qtbot.waitUntil(lambda: bool(pane.verdict.text()), timeout=60_000)
    return [pane.result.item(n).text() for n in range(pane.result.count())]


def test_an_exercise_put_right_read_and_named_is_passed(bench: Bench, qtbot: QtBot) -> None:
    pane = bench.side.exercise
    begin(bench, "2  Lost its bite")
    assert "no longer breaks out" in pane.complaint.text()
    assert not pane.begin_button.isVisible()
    assert pane.title.text() == "2  Lost its bite"
    assert bench.stands("relief 1") == pytest.approx(330 - 36)
    screws = bench.side.screws
    show(bench.side, screws.screw)
    for degrees in (90, 30):  # 120° are 40 bar
        click(bench.side, screws.steps[degrees])
    bench.run(0.1)
    # Zeros are taken meanwhile: the kit is connected anew, and the machine is as it was left.
    bench.connect()
    assert bench.stands("relief 1") == pytest.approx(330 + 4)
    assert screws.turned.text() == "relief 1: 120° inwards"
    start(bench)
    left = bench.machine.performance.plant
    pane.readings = lambda: {name: true_reading(left, name) for name in AIMS}
    show(bench.side, pane.claims)
    name_fault(bench, "a main relief is set low (pump 1)")
    told = end(bench, qtbot)
    assert pane.verdict.text() == "SIMULATED exercise: PASSED"
    assert all(line.startswith("✓") for line in told)
    assert "✓  Found: a main relief is set low (pump 1)." in told
    assert pane.begin_button.isEnabled()


def test_what_was_missed_is_told_first(bench: Bench, qtbot: QtBot) -> None:
    pane = bench.side.exercise
    begin(bench, "3  Runs hot at the stop")
    pane.readings = lambda: {"relief 1": 300 * BAR}
    show(bench.side, pane.claims)
    name_fault(bench, "the pilot pump is worn")
    told = end(bench, qtbot)
    assert pane.verdict.text().startswith("SIMULATED exercise: NOT PASSED")
    assert "✗  Screw cut-off 2 stands too high." in told
    assert "✗  Missed: one cut-off is set above the relief (pump 2)." in told
    assert "✗  Named, but not there: the pilot pump is worn." in told
    assert any(line.startswith("✗  relief 1 was read as 300.0 bar; in truth") for line in told)
    assert any(line.startswith("✗  cut-off 1 was not read; in truth") for line in told)
    wrong = [line.startswith("✗") for line in told]
    assert wrong == sorted(wrong, reverse=True)


def test_an_exercise_that_has_ended_leaves_the_next_machine_alone(
    bench: Bench, qtbot: QtBot
) -> None:
    begin(bench, "2  Lost its bite")
    end(bench, qtbot)
    bench.connect()
    assert bench.stands("relief 1") == pytest.approx(331)
    assert bench.side.screws.turned.text().startswith("No screw")
