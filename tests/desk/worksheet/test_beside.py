"""Before and after: one press lays a check's traces side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from gaugebench.model.job import Phase, Source
from gaugebench.model.trace import Trace
from gaugebench.store.tracefile import write_trace

if TYPE_CHECKING:
    from tests.desk.worksheet.conftest import Bench

FOUND, LEFT = "found.h5", "left.h5"
HOLD = {"start_s": 4.0, "end_s": 8.0, "loading": 0}
STILL = {"start_s": 1.0, "end_s": 3.0}


def _read_both_ways(bench: Bench, trace: Trace, check: str, where: dict[str, float]) -> None:
    """As found and as left, each from a trace beside the job."""
    job = bench.place.job
    assert job.path is not None
    for name, bar in ((FOUND, 312.0), (LEFT, 325.0)):
        if not (job.path.parent / name).exists():
            write_trace(trace, job.path.parent / name)
        if name == LEFT:
            job.do("as found locked")
        assert job.sheet is not None
        phase = Phase.AS_LEFT if name == LEFT else Phase.AS_FOUND
        value = {"value": bar * 1e5, "unit": "Pa", "expanded": 1e5}
        assert job.do("reading", check=check, phase=phase, value=value, how="by hand",
                      source=Source(trace=name, **where))  # fmt: skip


def _table(bench: Bench, row: int) -> list[str]:
    table = bench.window.compare.table
    items = [table.item(row, c) for c in range(5)]
    return [i.text() if i else "" for i in items]


def _shown(bench: Bench, qtbot: QtBot) -> None:
    compare = bench.window.compare
    qtbot.waitUntil(compare.check.isVisible, timeout=30_000)
    assert bench.window.tabs.currentWidget() is compare
    assert not compare.notice.isVisible()


def test_two_loadings_in_one_press(bench: Bench, trace: Trace, qtbot: QtBot) -> None:
    bench.practise()
    beside = bench.place.beside
    assert not beside.open_button.isEnabled()
    assert "No check" in beside.told.text()
    _read_both_ways(bench, trace, "pump2-cut-off", HOLD)
    assert [r.check for r in beside.rows] == ["pump2-cut-off"]
    # Both readings have U = 1 bar; their difference has √2 of it (JCGM 100:2008, 5.1.2).
    assert beside.rows[0].readings == ("312.0 ± 1.0 bar", "325.0 ± 1.0 bar", "+13.0 ± 1.4 bar")
    bench.press(beside.open_button)
    _shown(bench, qtbot)
    compare = bench.window.compare
    assert compare.check.text() == "Pump 2 cut-off: A as found, B as left"
    assert [c.side.pump for c in compare.sides if c.side] == [2, 2]
    assert [c.trace.text() for c in compare.sides] == [FOUND, LEFT]
    assert _table(bench, 0)[1:4] == ["312.0 ± 1.0 bar", "325.0 ± 1.0 bar", "+13.0 ± 1.4 bar"]
    assert _table(bench, 1)[0] == "Settled"
    QTest.mouseClick(compare.sides[1].later, Qt.MouseButton.LeftButton)
    assert compare.check.isVisible(), "moved in time, it is still that check"
    assert compare.sides[1].nudge.text() == "+0.01 s"
    compare.sides[1].pump.setCurrentIndex(0)
    compare.sides[1].pump.activated.emit(0)
    assert not compare.check.isVisible(), "another pump is no check's as left"
    assert _table(bench, 0)[0] == "Settled"


def test_what_stood_still_is_laid_beside_as_well(bench: Bench, trace: Trace, qtbot: QtBot) -> None:
    bench.practise()
    _read_both_ways(bench, trace, "pilot-high", STILL)
    bench.show(bench.place.beside.open_button)
    bench.place.beside.table.setFocus()
    QTest.keyClick(bench.place.beside.table, Qt.Key.Key_Return)
    _shown(bench, qtbot)
    compare = bench.window.compare
    assert [pane.spec.title for pane in compare.picture.panes] == ["Pilot", "B − A"]
    row = _table(bench, 1)
    # The trace's pilot stands at 33 bar with 0.2 bar of noise.
    assert [row[0], row[3]] == ["Pilot", "0.0 bar"]
    assert float(row[1].split()[0]) == pytest.approx(33.0, abs=0.1)
    assert bench.window.simulated.isVisible()
    assert "nothing here was measured" in bench.window.simulated.text()


def test_a_trace_that_is_gone_is_said(bench: Bench, trace: Trace, qtbot: QtBot) -> None:
    bench.practise()
    _read_both_ways(bench, trace, "pump2-cut-off", HOLD)
    assert bench.place.job.path is not None
    Path(bench.place.job.path.parent / LEFT).unlink()
    bench.press(bench.place.beside.open_button)
    qtbot.waitUntil(lambda: LEFT in bench.window.compare.notice.text, timeout=30_000)
    assert not bench.window.compare.check.isVisible()
