"""Hook-up to record over the practice machine, driven with keys and mouse: a real session."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QComboBox, QLabel, QLineEdit
from pytestqt.qtbot import QtBot

from gaugebench.acquire.ports import PortInfo
from gaugebench.desk.hookup.stages import Stage
from gaugebench.desk.hookup.table import NOW, SAID
from gaugebench.desk.hookup.toml import save_kit
from gaugebench.desk.memory import Memory
from gaugebench.desk.review.opened import prepare
from gaugebench.desk.window import DeskWindow
from gaugebench.model.trace import Trace
from gaugebench.simulate.visit import practice_kit

if TYPE_CHECKING:
    from tests.desk.conftest import FakeFeed

LEFT = Qt.MouseButton.LeftButton


def _click(widget: QAbstractButton) -> None:
    assert widget.isEnabled(), widget.text()
    QTest.mouseClick(widget, LEFT)


def _type(line: QLineEdit, text: str) -> None:
    line.clear()
    QTest.keyClicks(line, text)
    QTest.keyClick(line, Qt.Key.Key_Return)


def _until(qtbot: QtBot, condition: Callable[[], bool]) -> None:
    qtbot.waitUntil(condition, timeout=60_000)


def test_an_empty_place_says_what_to_do_first(window: DeskWindow) -> None:
    assert window.tabs.currentWidget() is window.hookup
    pages = window.hookup.pages
    assert "practise" in pages.advice.text()
    assert not pages.connecting.connect_button.isEnabled()
    window.tabs.setCurrentWidget(window.live)
    assert "Hook-up" in window.live.empty.text()


def test_practise_record_and_review(window: DeskWindow, qtbot: QtBot) -> None:
    pages = window.hookup.pages
    _click(pages.kit.practise_button)
    _until(qtbot, lambda: window.feed is not None)
    assert window.simulated.isVisible()
    _until(qtbot, lambda: "bar" in _now(window, 1))
    window.tabs.setCurrentWidget(window.live)
    _click(window.live.bar.record_button)
    _until(qtbot, window.live.bar.stop_button.isEnabled)
    window.tabs.setCurrentWidget(window.hookup)
    window.menus.actions["letgo"].trigger()
    _click(pages.release.disconnect_button)
    assert "stop it" in window.hookup.notice.text  # a record is never ended by letting go
    window.tabs.setCurrentWidget(window.live)
    qtbot.wait(700)
    _click(window.live.bar.mark_button)
    _click(window.live.bar.stop_button)
    _until(qtbot, lambda: window.review.opened is not None)
    opened = window.review.opened
    assert opened is not None
    assert opened.trace.simulated
    assert window.tabs.currentWidget() is window.review
    assert [m.kind.value for m in opened.marks if m.standing.value == "by hand"] == ["note"]
    assert len(opened.trace.series) == 6
    window.tabs.setCurrentWidget(window.hookup)
    _click(pages.release.disconnect_button)
    _until(qtbot, lambda: window.workers.busy == 0)
    assert window.feed is None
    assert not window.simulated.isVisible()


def _now(window: DeskWindow, row: int) -> str:
    return window.hookup.pages.table.text(row, NOW)


def _said(window: DeskWindow, row: int) -> str:
    return window.hookup.pages.table.text(row, SAID)


def test_a_kit_file_is_opened_and_checked(window: DeskWindow, tmp_path: Path) -> None:
    save_kit(practice_kit(), tmp_path / "kit.toml")
    pages = window.hookup.pages
    window.hookup.open_kit(tmp_path / "kit.toml")
    assert pages.table.rowCount() == 6
    assert "highest relief" in _said(window, 1)
    _click(pages.bar.buttons[Stage.RANGES])
    _type(pages.ranges.highest, "900 bar")
    assert _said(window, 1).startswith("STOP")
    assert "STOP" in pages.advice.text()
    assert "STOP" in pages.bar.buttons[Stage.RANGES].text()
    _type(pages.ranges.highest, "350")
    assert "unit" in window.hookup.notice.text
    _type(pages.ranges.highest, "350 bar")
    assert _said(window, 1).startswith("may be connected")
    assert "sheet" in _said(window, 2)  # a regulated port may see pump pressure
    for row in (2, 4):
        pages.table.selectRow(row)
        _type(pages.form.lines["most"], "40 bar")
    assert "Every transducer" in pages.ranges.verdict.text()
    assert "✓" in pages.bar.buttons[Stage.RANGES].text()


def test_fitting_goes_step_by_step_and_stops_before_what_would_be_over_ranged(
    window: DeskWindow,
) -> None:
    hookup, pages = window.hookup, window.hookup.pages
    hookup.use(practice_kit())
    _type(pages.ranges.highest, "900 bar")
    _click(pages.bar.buttons[Stage.FIT])
    steps = pages.fit.steps
    while steps.done_button.isEnabled():
        _click(steps.done_button)
    current = steps.list.current
    assert current is not None
    assert current.key == "open"  # nothing is opened before every transducer may be fitted
    assert "STOP" in steps.held.text()
    _type(pages.ranges.highest, "350 bar")
    for row in (2, 4):
        hookup.draft.set_most(hookup.draft.places[row], "40 bar")
    hookup.renew()
    while steps.done_button.isEnabled():
        _click(steps.done_button)
    assert steps.list.is_done
    assert "✓" in pages.bar.buttons[Stage.FIT].text()
    assert len(hookup.visit.seen) == len(steps.list.steps)
    pages.table.selectRow(1)
    _type(pages.form.lines["adapter"], "M16×2")
    _type(pages.form.lines["bore"], "2")
    assert "unit" in hookup.notice.text
    _type(pages.form.lines["bore"], "2 mm")
    _type(pages.form.lines["length"], "1.5 m")
    assert _said(window, 1) == "M16×2; hose bore 2 mm; hose length 1.5 m"
    _type(pages.form.lines["rating"], "250 bar")
    assert "hose is rated for" in _said(window, 1)


def test_a_channel_is_edited_in_the_form(window: DeskWindow) -> None:
    hookup, pages = window.hookup, window.hookup.pages
    hookup.use(practice_kit())
    pages.table.selectRow(1)
    assert pages.form.lines["high"].text() == "600 bar"
    _type(pages.form.lines["high"], "60 MPa")
    assert hookup.draft.kit is not None
    assert hookup.draft.kit.source[0].channel[1].range == ("0 bar", "60 MPa")
    _type(pages.form.lines["high"], "600")
    assert "Not a kit yet" in pages.advice.text()
    assert not pages.connecting.connect_button.isEnabled()
    _type(pages.form.lines["high"], "600 bar")
    assert pages.connecting.connect_button.isEnabled()
    _type(pages.form.lines["calibrated_on"], "2026-03-31")
    QTest.keyClick(pages.form.lines["calibrated_on"], Qt.Key.Key_Return)  # nothing changes
    assert hookup.draft.kit.source[0].channel[1].calibrated_on == date(2026, 3, 31)


def test_a_bridge_is_described_with_what_it_needs(window: DeskWindow) -> None:
    hookup, form = window.hookup, window.hookup.pages.form
    hookup.use(practice_kit())
    hookup.pages.table.selectRow(1)
    assert not form.lines["sensitivity_mv_v"].isVisible()
    _choose(form.boxes["signal"], "mV/V")
    assert form.lines["sensitivity_mv_v"].isVisible()
    _type(form.lines["unit"], "mV")
    _type(form.lines["sensitivity_mv_v"], "2,0")
    assert "excitation" in hookup.pages.advice.text()
    _type(form.lines["excitation"], "10 V")
    assert hookup.draft.kit is not None
    entry = hookup.draft.kit.source[0].channel[1]
    assert (entry.signal.value, entry.sensitivity_mv_v, entry.excitation) == ("mV/V", 2.0, "10 V")
    _choose(form.boxes["signal"], "4-20 mA")
    _type(form.lines["unit"], "mA")
    assert hookup.draft.kit is not None  # what belongs to a bridge alone went with it
    assert hookup.draft.kit.source[0].channel[1].excitation is None


def _choose(box: QComboBox, value: str) -> None:
    row = box.findData(value)
    assert row >= 0
    box.setFocus()
    while box.currentIndex() < row:
        QTest.keyClick(box, Qt.Key.Key_Down)
    while box.currentIndex() > row:
        QTest.keyClick(box, Qt.Key.Key_Up)
    box.activated.emit(row)


def test_a_kit_is_saved_and_chosen_again_in_one_step(window: DeskWindow, qtbot: QtBot) -> None:
    hookup, kit = window.hookup, window.hookup.pages.kit
    hookup.use(practice_kit())
    _type(kit.name, "van 3")
    _click(kit.save_button)
    assert hookup.path is not None
    assert hookup.path.name == "van 3.toml"
    hookup.use(practice_kit())
    item = kit.recent.item(0)
    assert item is not None
    place = kit.recent.visualItemRect(item).center()
    QTest.mouseClick(kit.recent.viewport(), LEFT, Qt.KeyboardModifier.NoModifier, place)
    assert hookup.draft.kit is not None
    assert hookup.draft.kit.name == "van 3"
    assert kit.name.text() == "van 3"


def test_a_source_is_added_with_its_options(window: DeskWindow, qtbot: QtBot) -> None:
    sources = window.hookup.pages.sources
    qtbot.waitUntil(lambda: sources.driver.count() > 0, timeout=60_000)
    sources.driver.setCurrentText("text-lines")
    sources.count.setCurrentText("3")
    form = sources.form
    assert form is not None
    port = form.fields["port"]
    assert isinstance(port, QComboBox)
    port.setEditText("")
    _click(sources.add_button)
    assert "port" in window.hookup.notice.text  # it is required, and the message names it
    port.setEditText("")
    QTest.keyClicks(port, "/dev/ttyUSB7")
    _click(sources.add_button)
    assert window.hookup.draft.kit is not None
    entry = window.hookup.draft.kit.source[0]
    assert entry.driver == "text-lines"
    assert entry.options == {"port": "/dev/ttyUSB7"}
    assert len(entry.channel) == 3
    assert not window.hookup.draft.kit.simulated


def test_a_port_that_is_plugged_in_is_chosen_and_told(
    window: DeskWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    sources = window.hookup.pages.sources
    there = [PortInfo("/dev/ttyS0")]
    monkeypatch.setattr("gaugebench.acquire.ports.list_ports", lambda: tuple(there))
    _until(qtbot, lambda: sources.driver.count() > 0)
    sources.look()
    _until(qtbot, lambda: _ports(window) == ["/dev/ttyS0"])
    there.append(PortInfo("/dev/ttyUSB0", "a board"))
    _until(qtbot, lambda: len(_ports(window)) == 2)  # seen without being asked
    assert "just plugged in" in _ports(window)[1]
    assert sources.form is not None
    box = sources.form.fields["port"]
    assert isinstance(box, QComboBox)
    assert box.currentText() == "/dev/ttyUSB0"
    there.pop()
    _until(qtbot, lambda: _ports(window) == ["/dev/ttyS0"])


def _ports(window: DeskWindow) -> list[str]:
    listed = window.hookup.pages.sources.ports
    return [listed.item(n).text() for n in range(listed.count())]


def test_a_port_that_is_not_there_is_said_in_the_window(window: DeskWindow, qtbot: QtBot) -> None:
    window.hookup.draft.add_source("text-lines", {"port": "/dev/ttyNONE"}, 2)
    window.hookup.renew()
    _click(window.hookup.pages.bar.buttons[Stage.ZEROS])
    _click(window.hookup.pages.connecting.connect_button)
    _until(qtbot, lambda: bool(window.hookup.notice.text))
    assert "ttyNONE" in window.hookup.notice.text
    assert window.feed is None


def test_the_folder_for_records_is_remembered_with_its_room(
    window: DeskWindow, qtbot: QtBot, tmp_path: Path, memory: Memory
) -> None:
    pages = window.hookup.pages
    _until(qtbot, lambda: "GB free" in pages.connecting.room.text())
    window.hookup.folder_chosen.emit(tmp_path / "elsewhere")
    assert memory.text("folder", "") == str(tmp_path / "elsewhere")
    assert pages.connecting.where.text() == str(tmp_path / "elsewhere")
    _click(pages.kit.practise_button)
    _until(qtbot, lambda: window.feed is not None)
    assert window.feed is not None
    assert window.feed.folder == tmp_path / "elsewhere"
    _until(qtbot, lambda: "enough for" in window.ledger.disk.text())  # before anything is recorded
    assert "enough for" in pages.connecting.room.text()


def test_the_banner_tells_the_kit_from_what_is_shown(
    window: DeskWindow, qtbot: QtBot, trace: Trace
) -> None:
    _click(window.hookup.pages.kit.practise_button)
    _until(qtbot, lambda: window.feed is not None)
    window.review.show_opened(prepare(replace(trace, simulated=False)))
    window.tabs.setCurrentWidget(window.review)
    assert window.simulated.isVisible()
    assert "what is shown here is not" in window.simulated.text()
    window.tabs.setCurrentWidget(window.hookup)
    assert "nothing here was measured" in window.simulated.text()


def test_a_visit_over_a_pseudo_terminal_from_zeros_to_letting_go(
    window: DeskWindow, qtbot: QtBot
) -> None:
    """Zeros, wrong-port check, a lever, and the release on a machine that is worked by hand."""
    from gaugebench.simulate.board import Board
    from gaugebench.simulate.perform import Hands
    from gaugebench.simulate.visit import demo_kit, free_script

    hookup, pages = window.hookup, window.hookup.pages
    hands = Hands()
    with Board(free_script(), rate_hz=50.0, wait_s=0.5, hands=hands) as board:
        hookup.use(demo_kit(board.port))
        _click(pages.bar.buttons[Stage.ZEROS])
        _click(pages.connecting.connect_button)
        _until(qtbot, lambda: "rpm" in _now(window, 5))
        assert any("rows/s" in label.text() for label in pages.sourcebar.findChildren(QLabel))
        _until(qtbot, lambda: all(r.count > 20 for r in hookup.bench.rests()))
        _click(pages.connecting.zero_button)
        _until(qtbot, lambda: len(hookup.visit.zeros) == 5)  # read anew with the zeros in force
        assert all(moment == "before" for _, moment in hookup.visit.zeros)
        assert all(abs(z.reading_pa) < 1e5 for z in hookup.visit.zeros.values())
        assert "✓" in pages.bar.buttons[Stage.ZEROS].text()

        _click(pages.bar.buttons[Stage.PORTS])
        assert not pages.ports.move_button.isEnabled()
        _click(pages.ports.wrong_button)
        assert "stands still" in pages.ports.wrong_said.text()
        hands.switch("engine", 950.0)
        _until(qtbot, lambda: _idles(window))
        _click(pages.ports.wrong_button)
        assert "Every port reads as" in pages.ports.wrong_said.text()
        pages.ports.lever.setEditText("bucket")
        pages.ports.fed.setCurrentIndex(1)
        _click(pages.ports.move_button)
        _until(qtbot, lambda: pages.ports.order.text().startswith("Now bucket"))
        hands.lever("bucket", 0.35)
        _until(qtbot, lambda: pages.ports.order.text().startswith("Seen"))
        hands.lever("bucket", 0.0)
        _until(qtbot, lambda: bool(hookup.bench.answers))
        answer = hookup.bench.answers[0]
        assert (answer.main, answer.control) == (1, 1)
        assert "pump 1 rose" in pages.ports.answers.text()

        _click(pages.bar.buttons[Stage.RELEASE])
        _until(qtbot, lambda: "still holds" in _said(window, 1))
        steps = pages.release.steps
        while steps.done_button.isEnabled():
            _click(steps.done_button)
        current = steps.list.current
        assert current is not None
        assert current.key == "read"
        assert not pages.release.proved.isVisible()  # a held pressure is proved by nothing
        hands.switch("engine", 0.0)
        _until(qtbot, lambda: "these ports only" in pages.release.verdict.text())
        while steps.done_button.isEnabled():
            _click(steps.done_button)
        assert steps.list.is_done
        _click(pages.release.zero_button)
        assert len(hookup.visit.zeros) == 10
        _click(pages.release.disconnect_button)
        _until(qtbot, lambda: window.workers.busy == 0)
        assert window.feed is None
        assert "nothing is read" in pages.release.verdict.text()


def _idles(window: DeskWindow) -> bool:
    """Whether the last seconds are all of the low idle."""
    rests = window.hookup.bench.rests()
    return bool(rests) and 900 < rests[5].mean < 1000 and rests[5].noise < 10


def test_a_lost_source_is_told_where_it_is_now(window: DeskWindow, feed: FakeFeed) -> None:
    hookup = window.hookup
    hookup.draft.add_source("text-lines", {"port": "/dev/ttyUSB0"}, 2)
    hookup.draft.data["source"][0]["name"] = "kit"
    window.attach(feed)
    assert not hookup.pages.sourcebar.rescue.isVisible()
    feed.sources[0].alive = False
    feed.sources[0].advice = ("wrong speed?",)
    hookup.look()
    bar = hookup.pages.sourcebar
    assert bar.rescue.isVisible()
    assert "kit" in bar.asked.text()
    bar.port.setEditText("")
    QTest.keyClicks(bar.port, "/dev/ttyUSB1")
    _click(bar.told_button)
    assert feed.ports_told == [("kit", "/dev/ttyUSB1")]
    feed.sources[0].alive = True
    hookup.look()
    assert not bar.rescue.isVisible()
    assert any("wrong speed?" in label.text() for label in bar.findChildren(QLabel))
    window.detach()
