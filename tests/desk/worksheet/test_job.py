"""A job led through at the desk: by keys and mouse, on the sheet of the invented machine."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from gaugebench.desk.review.opened import load
from gaugebench.model.job import Hands, Phase
from gaugebench.procedure.prompt import PORTS_RIGHT
from gaugebench.procedure.sheet import blank
from gaugebench.simulate.visit import demo_kit
from gaugebench.store.opening import open_trace
from gaugebench.store.tracefile import write_trace

if TYPE_CHECKING:
    from tests.desk.worksheet.conftest import Bench

TRACE = Path(__file__).parents[3] / "sample_traces" / "as_found.csv.gz"


def test_a_pilot_reading_in_its_band_is_kept_on_disk(
    bench: Bench, make_bench: Callable[[], Bench]
) -> None:
    bench.write(bench.place.lines["serial"], "MT21-0417")
    bench.practise()
    assert bench.window.simulated.isVisible()
    bench.read("pilot-low", "37,2", "0.3")
    row = bench.row("pilot-low")
    # The invented sheet's band is 37 bar ± 3 bar.
    assert row[1].splitlines() == ["34.0 to 40.0 bar", "invented sheet, page 5"]
    assert row[2].splitlines() == ["37.2 ± 0.3 bar", "in its band"]
    assert row[4].startswith("read")
    path = bench.place.job.path
    assert path is not None
    assert path.name == "2026-03-02-marten-21-mt21-0417.jsonl"
    bench.window.close()
    again = make_bench()
    assert again.place.resume(path)
    assert again.row("pilot-low")[2] == row[2]
    assert again.place.lines["serial"].text() == "MT21-0417"


def test_a_reading_out_of_its_band_says_so_in_words_and_another_unit_is_taken(bench: Bench) -> None:
    bench.practise()
    bench.read("pilot-low", "3.1 MPa", "0.03 MPa")
    assert bench.row("pilot-low")[2].splitlines() == ["31.0 ± 0.3 bar", "OUT OF ITS BAND"]
    QTest.mouseClick(bench.window.unit_bar.buttons["MPa"], Qt.MouseButton.LeftButton)
    assert "3.10 ± 0.03 MPa" in bench.row("pilot-low")[2]
    bench.read("pilot-high", "31 rpm", "")
    assert "unit such as Pa" in bench.place.notice.text


def test_as_found_is_locked_and_stays(bench: Bench) -> None:
    bench.practise()
    status = bench.place.status
    bench.press(status.lock_button)
    assert bench.place.notice.text == "Nothing was read yet; there is no as-found to lock."
    bench.read("pilot-low", "31.0", "0.3")
    assert not bench.place.turning.advice
    assert "Lock as-found" in bench.place.turning.why_none.text()
    bench.press(status.lock_button)
    assert "locked" in status.phase.text()
    assert not status.lock_button.isVisible()
    assert bench.place.turning.advice[0][:2] == ("pilot-low", "pilot relief")
    bench.read("pilot-low", "36.0", "0.3")
    found, left = bench.row("pilot-low")[2:4]
    assert found.startswith("31.0")
    assert left.startswith("36.0")


def test_no_stall_while_hands_are_in(bench: Bench) -> None:
    bench.practise()
    place = bench.place
    place.job.do("observed", fact=PORTS_RIGHT, holds=True)
    place.checks.choose("pump1-cut-off")
    refusal = "Hands are in; switch to under load once everybody is clear."
    assert refusal in place.checks.told.text()
    bench.press(place.status.hands_button)
    bench.write(place.status.clear_name, " ")
    bench.press(place.status.clear_button)
    assert "Confirm by name" in place.notice.text
    assert place.status.hands.text() == "HANDS IN"
    bench.press(place.status.cancel_button)
    bench.under_load()
    assert place.status.hands.text() == "UNDER LOAD"
    assert refusal not in place.checks.told.text()
    assert "hold until it says enough" in place.checks.told.text()
    assert "hands in" in place.turning.why_none.text()
    place.job.do("stall ended", function="bucket", seconds=5.0, power_w=5e4)
    assert place.status.stall.text().startswith("Heat: 5 of 10 s. No stall yet: Wait 30 s")
    bench.clock.pass_s(31)
    place.renew()
    assert "Wait" not in place.status.stall.text()
    bench.press(place.status.hands_button)
    assert place.status.hands.text() == "HANDS IN"


def test_offers_of_a_trace_wait_until_accepted_or_dropped(bench: Bench, qtbot: QtBot) -> None:
    bench.practise()
    place, queue = bench.place, bench.place.queue
    bench.window.review.show_opened(load(TRACE))
    bench.press(queue.take_button)
    qtbot.waitUntil(lambda: not place.job.following, timeout=20_000)
    assert place.job.path is not None
    assert (place.job.path.parent / TRACE.name).is_file()
    pilot = next(n for n, w in enumerate(queue.queue) if w.offer.endswith("pilot-high"))
    queue.table.setCurrentCell(pilot, 0)
    assert "quiet stretch" in queue.queue[pilot].sure
    assert queue.choice.currentText() == "Pilot pressure at high idle"
    count = len(queue.queue)
    bench.press(queue.accept_button)
    # The file names no transducer, so its uncertainty is not known and nothing is claimed of it.
    assert bench.row("pilot-high")[2].startswith("39.0 bar")
    assert "cannot tell" in bench.row("pilot-high")[2]
    bench.press(place.status.lock_button)
    assert f"{count - 1} reading(s) still wait" in place.notice.text
    while queue.queue:
        bench.write(queue.why, "practice")
        bench.press(queue.drop_button)
    bench.press(place.status.lock_button)
    assert place.job.sheet is not None
    assert place.job.sheet.state.phase is Phase.AS_LEFT
    bench.press(queue.take_button)
    qtbot.waitUntil(lambda: not place.job.following, timeout=20_000)
    assert "gone through already" in place.notice.text


def test_a_record_made_while_the_job_is_open_is_gone_through_by_itself(
    bench: Bench, qtbot: QtBot
) -> None:
    bench.practise()
    assert bench.place.job.path is not None
    record = bench.place.job.path.parent / "as-found.h5"  # as recording leaves it
    write_trace(open_trace(TRACE), record)
    bench.window.live.recorded.emit(record)
    qtbot.waitUntil(
        lambda: bool(bench.place.queue.queue) and not bench.place.job.following, timeout=20_000
    )
    assert bench.window.tabs.currentWidget() is bench.window.review
    assert bench.place.panes.tabText(3) == f"Queue ({len(bench.place.queue.queue)})"
    assert bench.place.list.count() == 1


def test_a_turn_is_proposed_logged_and_undone_in_words(bench: Bench) -> None:
    bench.practise()
    bench.read("pilot-low", "31.0", "0.3")
    bench.press(bench.place.status.lock_button)
    turning = bench.place.turning
    # The slope is not known: at most 1/12 turn (common practice, no source).
    assert 0 < turning.advice[0][2].turns <= 1 / 12
    assert turning.degrees.placeholderText() == "+10°"
    bench.write(turning.degrees, "far")
    QTest.keyClick(turning.degrees, Qt.Key.Key_Return)
    assert "number of degrees" in bench.place.notice.text
    bench.write(turning.degrees, "")
    bench.press(turning.turn_button)
    undo = turning.back.item(0, 1)
    assert undo is not None
    assert undo.text() == "turn out by 10° (0.03 turn)"
    bench.write(turning.read, "33.5 bar")
    bench.write(turning.spread, "0.3")
    for button in turning.moments.values():
        bench.press(button)
        bench.write(turning.read, "33.5")
        bench.write(turning.spread, "0.3")
    texts = [turning.log.item(0, c) for c in range(5)]
    assert [t.text() if t else "" for t in texts][1:] == [
        "31.0 ± 0.3 bar", "33.5 ± 0.3 bar", "33.5 ± 0.3 bar", "33.5 ± 0.3 bar",
    ]  # fmt: skip


def test_the_fault_table_and_the_state_of_each_check(bench: Bench) -> None:
    bench.practise()
    checks = bench.place.checks
    checks.choose("boom-time")
    bench.press(checks.untested_button)
    assert "Say why" in bench.place.notice.text
    bench.write(checks.why, "no room to lift")
    bench.press(checks.untested_button)
    assert bench.row("boom-time")[4] == "not tested: no room to lift"
    bench.read("pilot-low", "28.0", "0.3")
    bench.read("pilot-high", "29.0", "0.3")
    faults = bench.place.faults
    assert "ilot" in faults.causes[0].title
    assert "28.0 bar" in faults.evidence.text()


@pytest.mark.parametrize(("kind", "start"), [(1, b"<!DOCTYPE html>"), (0, b"%PDF-"), (2, b"PK")])
def test_the_report_is_written_off_the_windows_thread(
    bench: Bench, qtbot: QtBot, kind: int, start: bytes
) -> None:
    bench.practise()
    bench.read("pilot-low", "37.2", "0.3")
    ending = bench.place.ending
    ending.kind.setCurrentIndex(kind)
    bench.press(ending.write_button)
    assert ending.progress.isVisible()
    qtbot.waitUntil(lambda: not ending.writing, timeout=30_000)
    assert bench.place.job.path is not None
    path = bench.place.job.path.with_suffix(str(ending.kind.currentData()))
    assert str(path) in ending.written.text()
    assert path.read_bytes()[: len(start)].lower() == start.lower()


def test_a_job_is_closed_once_nothing_is_open(bench: Bench) -> None:
    bench.practise()
    place, ending = bench.place, bench.place.ending
    assert not ending.close_button.isEnabled()
    bench.read("pilot-low", "37.2", "0.3")
    bench.press(place.status.lock_button)
    for row in place.checks.rows:
        if row.state == "to do":
            place.job.do("not tested", check=row.key, why="practice")
    assert ending.blocks.text() == "• The technician has not signed as-left."
    bench.write(ending.who, "R. Okonjo")
    bench.press(ending.sign_button)
    bench.press(ending.close_button)
    assert place.status.closing.text() == "The job is closed"
    assert not place.job.do("hands", hands=Hands.IN)
    assert "closed" in place.notice.text


def test_the_kit_that_is_open_goes_into_the_job(bench: Bench) -> None:
    kit = demo_kit("/dev/null")
    bench.place.hooked_up.kit_now = lambda: kit
    bench.practise()
    assert bench.place.job.sheet is not None
    used = {u.role for u in bench.place.job.sheet.state.kit}
    assert {"pilot", "pump1.main", "pump2.main"} <= used


def test_a_faulty_sheet_is_refused_with_its_key(bench: Bench, tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text(blank().replace("schema = 1", "schema = 9"), encoding="utf-8")
    assert not bench.place.begin(bad)
    assert "schema" in bench.place.notice.text
    assert bench.place.job.sheet is None


def test_the_conditions_card_is_stamped_on_every_reading(bench: Bench) -> None:
    bench.practise()
    place, card = bench.place, bench.place.card
    bench.show(card.oil)
    card.engine.setCurrentIndex(3)
    card.mode.setCurrentText("standard")
    bench.write(card.oil, "hot")
    bench.press(card.card_button)
    assert "hot" in place.notice.text
    bench.write(card.oil, "51")
    bench.press(card.card_button)
    assert "engine high idle, mode standard" in card.stamped.text()
    assert "oil 51 °C" in card.stamped.text()
    bench.read("pump1-cut-off", "326", "2")
    assert place.job.sheet is not None
    reading = place.job.sheet.state.reading("pump1-cut-off", Phase.AS_FOUND)
    assert reading is not None
    assert reading.conditions.oil_c == 51.0
