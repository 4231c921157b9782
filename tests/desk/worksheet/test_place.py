"""What is typed on the worksheet is in every record that is made from then on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit
from pytestqt.qtbot import QtBot

from gaugebench.desk.memory import Memory
from gaugebench.desk.window import DeskWindow
from gaugebench.desk.worksheet.entries import particulars
from gaugebench.model.trace import Particulars

if TYPE_CHECKING:
    from tests.desk.conftest import FakeFeed

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def window(qtbot: QtBot, memory: Memory, feed: FakeFeed) -> DeskWindow:
    made = DeskWindow(memory)
    qtbot.addWidget(made)
    made.attach(feed)
    made.tabs.setCurrentWidget(made.worksheet)
    made.show()
    qtbot.waitExposed(made)
    return made


def _type(line: QLineEdit, text: str) -> None:
    line.clear()
    QTest.keyClicks(line, text)
    QTest.keyClick(line, Qt.Key.Key_Return)


def test_particulars_go_into_the_record(window: DeskWindow, qtbot: QtBot, feed: FakeFeed) -> None:
    _type(window.worksheet.lines["machine"], "Kestrel 220")
    _type(window.worksheet.lines["hour_meter_h"], "6412,5")
    window.tabs.setCurrentWidget(window.live)
    QTest.mouseClick(window.live.bar.record_button, LEFT)
    qtbot.waitUntil(lambda: bool(feed.begun), timeout=20_000)
    begun = feed.begun[0]
    assert begun is not None
    assert (begun.machine, begun.hour_meter_h) == ("Kestrel 220", 6412.5)
    feed.record_state = None


def test_an_hour_meter_that_is_no_number_is_said(window: DeskWindow) -> None:
    _type(window.worksheet.lines["hour_meter_h"], "many")
    assert "hour meter" in window.worksheet.notice.text
    assert window.live.particulars.hour_meter_h is None


def test_the_sheet_is_kept_for_the_next_start(
    window: DeskWindow, memory: Memory, qtbot: QtBot
) -> None:
    _type(window.worksheet.lines["site"], "Quarry North")
    window.close()
    again = DeskWindow(memory)
    qtbot.addWidget(again)
    assert again.worksheet.lines["site"].text() == "Quarry North"
    QTest.mouseClick(again.worksheet.new_button, LEFT)
    assert again.worksheet.lines["site"].text() == ""
    again.close()


def test_traces_of_the_job_are_opened_from_the_list(
    window: DeskWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[Path] = []
    monkeypatch.setattr(window.review, "open", opened.append)
    window.worksheet.add_trace(Path("/records/one.h5"))
    QTest.mouseClick(window.worksheet.open_button, LEFT)
    assert opened == [Path("/records/one.h5")]
    assert window.tabs.currentWidget() is window.review


def test_entries_become_particulars() -> None:
    assert particulars({"machine": " K ", "hour_meter_h": "6 412.5"}) == Particulars(
        machine="K", hour_meter_h=6412.5
    )
    with pytest.raises(ValueError, match="hour meter"):
        particulars({"hour_meter_h": "x"})
