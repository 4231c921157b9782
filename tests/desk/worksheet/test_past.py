"""History: a machine's checks over its hours, and its transducers' zeros over days."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from gaugebench.desk.worksheet.past import HistoryPane
from gaugebench.model.job import EVENT, JobOpened, Phase
from gaugebench.procedure import sheet
from gaugebench.procedure.pastjobs import kept_in
from gaugebench.procedure.worksheet import Worksheet

if TYPE_CHECKING:
    from tests.desk.worksheet.conftest import Bench

CUT = "Pump 1 cut-off"


def _keep(
    folder: Path, name: str, day: int, hours: float | None, bar: float, **opened: Any
) -> None:
    """A job of some day in which one check was found at `bar` and left at 325 bar."""
    at = datetime(2026, 1, 1, 9, 0, tzinfo=UTC) + timedelta(days=day)
    folder.mkdir(parents=True, exist_ok=True)
    fields = {"machine": "Marten 21", "serial": "MT21-0417", "customer": "Hollow", **opened}
    made = Worksheet.begin(
        JobOpened(at=at, job=name, hour_meter_h=hours, sheet=sheet.invented_data(), **fields),
        folder / f"{name}.jsonl",
    )

    def do(kind: str, **more: Any) -> None:
        made.take(EVENT.validate_python({"kind": kind, "at": at, **more}))

    do("zero checked", role="pump1.main", serial="T-1", moment="before",
       value={"value": 0.1e5, "unit": "Pa", "expanded": 0.2e5}, taken_off_pa=day * 1e3)  # fmt: skip
    for phase, found in ((Phase.AS_FOUND, bar), (Phase.AS_LEFT, 325.0)):
        value = {"value": found * 1e5, "unit": "Pa", "expanded": 1e5}
        do("reading", check="pump1-cut-off", phase=phase, how="by hand", value=value)
        if phase is Phase.AS_FOUND:
            do("as found locked")
    made.close()


@pytest.fixture
def past(make_bench: Callable[[], Bench], qtbot: QtBot, tmp_path: Path) -> HistoryPane:
    """Five jobs on two machines and a file that is no job, read from below the folder of jobs."""
    folder = tmp_path / "records" / "2026"
    _keep(folder, "J-1", 0, 5200.0, 327.0)
    _keep(folder, "J-2", 40, 5600.0, 318.0)
    _keep(folder, "J-3", 90, 6400.0, 322.0, serial="mt21-0417")
    _keep(folder, "J-4", 95, None, 321.0)
    _keep(
        folder, "K-1", 60, 900.0, 326.0, machine="Dunlin 9", serial="D9-3", customer="Marl & Sons"
    )
    (folder / "notes.jsonl").write_text("no job\n", encoding="utf-8")
    place = make_bench().place
    place.panes.setCurrentWidget(place.past)
    qtbot.waitUntil(lambda: not place.past.is_reading, timeout=30_000)
    return place.past


def _rows(pane: HistoryPane) -> list[list[str]]:
    table = pane.table
    return [
        [i.text() if (i := table.item(r, c)) else "" for c in range(5)]
        for r in range(table.rowCount())
    ]


def _choose(pane: HistoryPane, title: str) -> None:
    """With the arrow keys."""
    pane.list.setFocus()
    QTest.keyClick(pane.list, Qt.Key.Key_Home, Qt.KeyboardModifier.ControlModifier)
    row = next(n for n, t in enumerate(pane.trends) if t.title.startswith(title))
    for _ in range(row):
        QTest.keyClick(pane.list, Qt.Key.Key_Down)


def test_a_check_over_the_hours_of_a_machine(past: HistoryPane) -> None:
    assert [(m.serial, len(m.jobs)) for m in past.machines] == [("MT21-0417", 4), ("D9-3", 1)]
    assert "5 jobs of 2 machines" in past.told.text()
    assert "notes.jsonl" in past.told.text()
    _choose(past, CUT)
    # The invented sheet's band is 320 to 330 bar.
    assert _rows(past)[:3] == [
        ["2026-01-01", "5200 h", "as found", "327.0 ± 1.0 bar", "in its band"],
        ["2026-01-01", "5200 h", "as left", "325.0 ± 1.0 bar", "in its band"],
        ["2026-02-10", "5600 h", "as found", "318.0 ± 1.0 bar", "OUT OF ITS BAND"],
    ]
    trend = past.chart.trend
    assert trend is not None
    assert [(p.x, p.y / 1e5, p.is_left, p.is_out) for p in trend.points][2:4] == [
        (5600.0, 318.0, False, True), (5600.0, 325.0, True, False),
    ]  # fmt: skip
    assert len(trend.points) == 6, "the job without an hour meter has no place on that axis"
    assert "2 reading(s) without an hour meter" in past.band.text()
    assert "320.0 to 330.0 bar" in past.chart.accessibleDescription()


def test_the_zero_of_a_transducer_is_what_it_gives_by_itself(past: HistoryPane) -> None:
    _choose(past, "Zero of T-1")
    # 0.1 bar were read with 0.4 bar taken off by the kit: the transducer gives 0.5 bar.
    assert _rows(past)[1] == ["2026-02-10", "—", "before the work", "0.5 ± 0.2 bar", ""]
    trend = past.chart.trend
    assert trend is not None
    assert trend.over_days
    assert trend.points[1].x - trend.points[0].x == 40


def test_found_by_serial_customer_and_date(past: HistoryPane) -> None:
    lines = (past.wanted, past.since, past.until)
    for typed, expected in (
        (("marl", "", ""), {"D9-3": 1}),
        (("D9-3", "", ""), {"D9-3": 1}),
        (("dunlin marl", "", ""), {"D9-3": 1}),
        (("", "2026-02-01", "2026-03-15"), {"D9-3": 1, "MT21-0417": 1}),
        (("hollow", "2026-03-01", ""), {"MT21-0417": 2}),
        (("nobody", "", ""), {}),
    ):
        for each, text in zip(lines, typed, strict=True):
            each.setFocus()
            each.selectAll()
            QTest.keyClick(each, Qt.Key.Key_Delete)
            QTest.keyClicks(each, text)
            QTest.keyClick(each, Qt.Key.Key_Return)
        assert {m.serial: len(m.jobs) for m in past.machines} == expected, typed


def test_practice_is_never_mixed_with_what_was_measured(past: HistoryPane, qtbot: QtBot) -> None:
    folder = past.folder()
    _keep(folder, "P-1", 120, 6500.0, 300.0, simulated=True)
    QTest.mouseClick(past.again_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: len(past.machines) == 3, timeout=30_000)
    rows = [(m.simulated, m.serial, len(m.jobs)) for m in past.machines]
    assert rows == [(True, "MT21-0417", 1), (False, "MT21-0417", 4), (False, "D9-3", 1)]
    first = past.found.item(0, 0)
    assert first is not None
    assert first.text() == "SIMULATED: Marten 21"
    past.found.setCurrentCell(0, 0)
    assert past.band.text().startswith("SIMULATED: ")


def test_a_day_that_is_none_is_said(past: HistoryPane) -> None:
    QTest.keyClicks(past.since, "yesterday")
    QTest.keyClick(past.since, Qt.Key.Key_Return)
    assert "yesterday" in past.told.text()


def test_units_follow_and_the_picture_is_drawn(past: HistoryPane, qtbot: QtBot) -> None:
    _choose(past, CUT)
    past.job.units.set_pressure("MPa")
    assert "32.70 ± 0.10 MPa" in _rows(past)[0][3]
    picture = past.chart.grab().toImage()
    colours = {picture.pixelColor(x, y).name() for x in range(0, picture.width(), 3)
               for y in range(0, picture.height(), 3)}  # fmt: skip
    assert past.chart.theme.of_pump(1) in colours
    assert past.chart.theme.span in colours


def test_a_job_damaged_in_places_counts_as_far_as_it_goes(tmp_path: Path) -> None:
    _keep(tmp_path, "J-1", 0, 5200.0, 327.0)
    path = tmp_path / "J-1.jsonl"
    path.write_bytes(path.read_bytes()[:-30])
    found = kept_in(tmp_path)
    assert len(found.jobs) == 1
    assert any("cut short" in sentence for sentence in found.left_out)
    assert kept_in(tmp_path, lambda: False).jobs == ()
