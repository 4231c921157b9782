"""A machine over its hours, and the worksheet as it is shown."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import numpy as np

from gaugebench.model.job import Phase
from gaugebench.procedure import compare, history, view


def _years(new_job: Callable[..., Any]) -> list[Any]:
    jobs = []
    for n, (hours, bar, customer) in enumerate(
        ((6400.0, 341.0, "Hollow"), (5200.0, 343.0, "Hollow"), (None, 320.0, "Marl & Sons"))
    ):
        job = new_job(
            job=f"J-{n}", serial="MT21-0417", hour_meter_h=hours, customer=f"{customer} Aggregates"
        )
        job.ready()
        job.read("pump1-cut-off", bar - 15, 1.0)
        zero = {"value": 2e4 * n, "unit": "Pa", "expanded": 1e4}
        job.do("zero checked", role="pump1.main", serial="T-1", moment="before", value=zero)
        jobs.append(job.state)
    return jobs


def test_jobs_are_found_by_serial_customer_and_date(new_job: Callable[..., Any]) -> None:
    jobs = _years(new_job)
    assert len(history.find(jobs, serial="mt21-0417")) == 3
    assert [j.opened.job for j in history.find(jobs, customer="marl")] == ["J-2"]
    day = jobs[0].opened.at.date()
    assert len(history.find(jobs, since=day, until=day)) == 3
    assert history.find(jobs, since=day + timedelta(days=1)) == ()
    assert history.find(jobs, until=date(2020, 1, 1)) == ()


def test_a_check_over_the_hour_meter(new_job: Callable[..., Any]) -> None:
    found = {h.key: h for h in history.checks(_years(new_job))}
    cut = found["pump1-cut-off"]
    assert len(cut.entries) == 3
    (line,) = history.lines(cut)
    assert line.phase is Phase.AS_FOUND
    # The job without an hour meter has no place on that axis; the others stand in order of hours.
    assert np.array_equal(line.hours, [5200.0, 6400.0])
    assert np.allclose(line.values, [328e5, 326e5])
    assert np.allclose(line.expanded, 1e5)
    rows = history.table([cut])
    assert rows[0] == (
        "Pump 1 cut-off", "320.0 to 330.0 bar", "6400 h", "2026-03-02", "as found",
        "326.0 ± 1.0 bar", "pass",
    )  # fmt: skip
    assert rows[2][2] == "–"
    assert rows[2][6] == "fail"


def test_the_zeros_of_a_transducer(new_job: Callable[..., Any]) -> None:
    found = history.zeros(_years(new_job))
    assert [z.before.value for z in found if z.before] == [0.0, 2e4, 4e4]
    assert all(z.after is None for z in found)


def test_as_found_and_as_left_stand_side_by_side(job: Any) -> None:
    job.ready()
    job.read("pump1-cut-off", 312, 1.0, source={"trace": "found.h5", "loading": 2})
    job.read("pump2-cut-off", 325, 1.0, source={"trace": "found.h5", "loading": 3})
    job.do("as found locked")
    job.read("pump1-cut-off", 325, 1.0, source={"trace": "left.h5", "loading": 0})
    (pair,) = compare.pairs(job.state)
    assert (pair.found.trace, pair.left.trace) == ("found.h5", "left.h5")
    assert pair.change.value == 13e5
    assert abs((pair.change.expanded or 0) - 2**0.5 * 1e5) < 1


def test_the_board_of_a_rebuilt_pump_lists_its_run_in(new_job: Callable[..., Any]) -> None:
    job = new_job(rebuilt=True)
    first = view.board(job.state, job.now).run_in[0][0]
    job.do("ticked", list_name="run-in", entry=first)
    listed = view.board(job.state, job.now).run_in
    assert [done for _, done in listed] == [True] + [False] * (len(listed) - 1)


def test_the_board_shows_what_belongs_to_the_state_of_the_work(job: Any) -> None:
    board = view.board(job.state, job.now)
    assert "HANDS IN" in board.hands_text
    assert board.next is not None
    assert board.next.check.key == "low-idle"
    assert all(r.state == "to do" for r in board.rows)
    job.ready()
    job.read("pump1-cut-off", 312, 1.0)
    job.do("offer made", offer="o1", sure="two fit", fits=())
    board = view.board(job.state, job.now)
    assert [w.offer for w in board.queue] == ["o1"]
    row = next(r for r in board.rows if r.key == "pump1-cut-off")
    assert (row.found.text, str(row.found.outcome), row.state) == (
        "312.0 ± 1.0 bar",
        "fail",
        "read",
    )
    assert board.advice == (), "no screw before as-found is locked"
    job.do("offer dropped", offer="o1")
    job.do("as found locked")
    board = view.board(job.state, job.now)
    ((check, screw, proposal),) = board.advice
    assert (check, screw) == ("pump1-cut-off", "cut-off 1")
    assert proposal.turns > 0
    assert any("hospital" in c for c in board.cautions)
    assert (board.run_in, board.wait) == ((), "")
    job.hands("under load")
    job.do("stall ended", function="bucket", seconds=5, power_w=1e5)
    board = view.board(job.state, job.now)
    assert any("swing circle" in c for c in board.cautions)
    assert board.wait.startswith("Wait ")
    assert "UNDER LOAD" in board.hands_text
    assert board.advice == (), "no screw advice under load"
    assert board.blocks
