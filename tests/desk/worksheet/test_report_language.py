"""The report that the desk writes is in the language that the desk speaks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pytestqt.qtbot import QtBot

from gaugebench.desk.words import speak

if TYPE_CHECKING:
    from tests.desk.worksheet.conftest import Bench


def test_a_german_desk_writes_a_german_report(bench: Bench, qtbot: QtBot) -> None:
    bench.practise()
    bench.read("pilot-low", "37.2", "0.3")
    ending = bench.place.ending
    ending.kind.setCurrentIndex(ending.kind.findData(".html"))
    speak("de")
    bench.press(ending.write_button)
    speak("en")  # what is being written is written to its end as it was begun
    qtbot.waitUntil(lambda: not ending.writing, timeout=30_000)
    assert bench.place.job.path is not None
    page = bench.place.job.path.with_suffix(".html").read_text("utf-8")
    assert '<html lang="de">' in page
    assert "37,2 ± 0,3 bar" in page
