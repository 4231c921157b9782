"""What is altered or exchanged: entered, put back, read again, and what it keeps from closing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt

from gaugebench.model.terms import ChangeKind

if TYPE_CHECKING:
    from tests.desk.worksheet.conftest import Bench


def stand(bench: Bench, row: int = 0) -> str:
    item = bench.place.altering.table.item(row, 2)
    return item.text() if item else ""


def test_the_sheets_alteration_is_made_put_back_and_read_again(bench: Bench) -> None:
    bench.practise()
    place, altering = bench.place, bench.place.altering
    bench.press(altering.alter_button)
    assert "as found first" in place.notice.text
    for check in ("pump1-cut-off", "pump2-cut-off"):
        bench.read(check, "325", "2")
    bench.press(altering.alter_button)
    assert stand(bench) == "ALTERED: put it back"
    assert "Altered (1)" in [place.panes.tabText(n) for n in range(place.panes.count())]
    assert "Not put back: the cut-off test switch" in altering.blocks.text()
    assert not altering.alter_button.isEnabled()
    bench.under_load()
    bench.press(altering.restore_button)
    assert place.notice.text == "Switch to hands in before anything is put back."
    bench.press(place.status.hands_button)
    bench.press(altering.restore_button)
    assert stand(bench) == "put back; to read again: Pump 1 cut-off, Pump 2 cut-off"
    for check in ("pump1-cut-off", "pump2-cut-off"):
        assert f"“{'Pump 1' if '1' in check else 'Pump 2'} cut-off” must be read again" in (
            place.ending.blocks.text()
        )
        bench.read(check, "326", "2")
    assert stand(bench) == "put back and read again"
    assert altering.blocks.text() == "Nothing is altered."
    assert "Altered" in [place.panes.tabText(n) for n in range(place.panes.count())]


def test_what_the_sheet_does_not_list_is_entered_and_blocks_closing(bench: Bench) -> None:
    bench.practise()
    place, altering = bench.place, bench.place.altering
    for one in place.checks.rows:
        if one.title in ("Main relief 1", "Main relief 2") or one.stage.startswith("port"):
            place.job.do("not tested", check=one.key, why="practice")
    kinds = (
        ("main relief raised", ChangeKind.RELIEF_RAISED, "Main relief 1"),
        ("port relief altered", ChangeKind.PORT_RELIEF, "Swing relief"),
        ("power boost off", ChangeKind.BOOST_OFF, "Main relief 1"),
    )
    titles = [altering.checks.item(n).text() for n in range(altering.checks.count())]
    for row, (title, kind, check) in enumerate(kinds, start=1):
        bench.pick(altering.kind, title)
        assert altering.kind.currentData() == kind
        is_ticked = altering.checks.item(titles.index(check)).checkState()
        assert is_ticked is Qt.CheckState.Checked
        bench.write(altering.does, "")
        bench.press(altering.enter_button)
        assert "Say what is altered" in place.notice.text
        bench.write(altering.does, f"the valve at {title}")
        bench.press(altering.enter_button)
        assert stand(bench, row) == "ALTERED: put it back"
        assert f"Not put back: the valve at {title}" in place.ending.blocks.text()
        bench.press(altering.restore_button)
        assert stand(bench, row).startswith("put back; to read again: ")
        assert f"“{check}” must be read again" in place.ending.blocks.text()


def test_nothing_is_altered_without_a_check_that_is_read_again(bench: Bench) -> None:
    bench.practise()
    altering = bench.place.altering
    bench.pick(altering.kind, "lines or plugs exchanged")
    bench.press(altering.enter_button)
    assert bench.place.notice.text == "Say which checks are read again once it is put back."
    altering.tick("arm-time", on=True)
    bench.press(altering.enter_button)
    assert "Not put back: two lines or plugs exchanged" in altering.blocks.text()


def test_the_proposed_exchange_is_made_judged_put_back_and_read_again(bench: Bench) -> None:
    bench.practise()
    place, form = bench.place, bench.place.faults.exchange
    bench.read("pilot-high", "39", "0.3")
    bench.read("control-1-neutral", "15", "0.3")
    bench.read("control-2-neutral", "5", "0.3")
    assert "control solenoids" in form.told.text()
    assert form.swap.currentText() == "Exchange the plugs of the two pumps' control solenoids"
    assert [s.currentText() for s in form.sides] == [
        "Pump 1 control pressure in neutral", "Pump 2 control pressure in neutral",
    ]  # fmt: skip
    bench.under_load()
    bench.press(form.swap_button)
    assert place.notice.text == "Switch to hands in before anything is altered."
    bench.press(place.status.hands_button)
    bench.write(form.note, "plugs Y1 and Y2")
    bench.press(form.swap_button)
    assert "Still exchanged: Exchange the plugs" in form.told.text()
    assert "(plugs Y1 and Y2)" in form.told.text()
    assert "once it is put back, read again: Pump 1 control pressure" in form.told.text()
    assert any("Not put back" in text for text in place.ending.blocks.text().splitlines())
    assert [v.text() for v in form.values] == ["15.0 ± 0.3", "5.0 ± 0.3", "", ""]
    bench.read("control-1-neutral", "5", "0.3")
    assert "says nothing while this stands" in place.notice.text
    for line, text in zip(form.values[2:], ("5 ± 0.3", "15 ± 0.3"), strict=True):
        bench.write(line, text)
    bench.press(form.judge_button)
    assert "followed (the difference changed sides)" in form.told.text()
    assert "The controller or its wiring" in form.told.text()
    assert not form.judge_button.isEnabled()
    bench.press(form.restore_button)
    assert "Still exchanged" not in form.told.text()
    blocks = place.ending.blocks.text()
    assert "Not put back" not in blocks
    assert "“Pump 1 control pressure in neutral” must be read again" in blocks
    bench.read("control-1-neutral", "15", "0.3")
    assert "“Pump 1 control pressure in neutral” must be read again" not in (
        place.ending.blocks.text()
    )


def test_another_exchange_than_the_proposed_one_is_recorded(bench: Bench) -> None:
    bench.practise()
    form = bench.place.faults.exchange
    bench.pick(form.swap, "Exchange the two lines after the pumps")
    assert [s.currentData() for s in form.sides] == ["bucket-time", "arm-time"]
    bench.press(form.swap_button)
    assert form.unit.text() == "s"
    for line, text in zip(form.values, ("4.5 ± 0.1", "5.1", "3.0", "7.6"), strict=True):
        bench.write(line, text)
    bench.press(form.judge_button)
    assert "cannot tell (the uncertainty of a reading is not known)" in form.told.text()
    assert bench.place.job.sheet is not None
    (made,) = bench.place.job.sheet.state.altered
    assert made.event.read_again == ("bucket-time", "arm-time")
