"""Swapped hoses found on the simulated machine, whose fault is known. No Qt is needed for it."""

from __future__ import annotations

import functools
import math
from dataclasses import replace

import numpy as np
import pytest

from gaugebench.desk.hookup import swapped
from gaugebench.desk.hookup.levers import Answer, Lever, LeverTest, Stage
from gaugebench.desk.hookup.portcheck import Standing, check_ports
from gaugebench.desk.hookup.rest import Rest
from gaugebench.desk.hookup.sheetside import highest_pa, levers
from gaugebench.desk.hookup.swapped import Finding, conclude
from gaugebench.desk.shown import Shown
from gaugebench.model.channel import Channel
from gaugebench.model.role import Role
from gaugebench.model.trace import Trace
from gaugebench.procedure import sheet as sheets
from gaugebench.simulate.moves import FaultOn, Move, Script
from gaugebench.simulate.script import run
from gaugebench.simulate.visit import demo_plant

BAR = 1e5
BUCKET, ARM = Lever("bucket", 1), Lever("arm", 2)


@functools.cache
def _idling(*faults: str) -> Trace:
    """10 s at low idle: 3 s neutral, the bucket a third of its way, the arm likewise."""
    script = Script(
        duration_s=10.0,
        plant=demo_plant(),
        engine_rpm=950.0,
        rate_hz=100.0,
        faults=tuple(FaultOn("swapped hoses", 1.0, where) for where in faults),
        moves=(
            Move("bucket", 3.0, 0.8, 0.35, rise_s=0.4),
            Move("arm", 7.0, 0.8, 0.35, rise_s=0.4),
        ),
    )
    return run(script)[0]


def _levels(trace: Trace, at_s: float) -> dict[Role, float]:
    found = {}
    for series in trace.series:
        if series.channel.role is not None and series.channel.role.pump is not None:
            recent = (series.times > at_s - 0.4) & (series.times <= at_s)
            found[series.channel.role] = float(np.mean(series.values[recent]))
    return found


def _ask(trace: Trace, lever: Lever, begin_s: float, test: LeverTest | None = None) -> Answer:
    test = test or LeverTest()
    test.begin(lever, begin_s)
    at = begin_s
    while test.stage is not Stage.DONE:
        at += 0.2
        assert at < 10.0, test.stage
        test.see(_levels(trace, at), at)
    assert test.answer is not None
    return test.answer


def _both(*faults: str, numbered: bool = True) -> list[Answer]:
    trace = _idling(*faults)
    pair = (BUCKET, ARM) if numbered else (replace(BUCKET, pump=None), replace(ARM, pump=None))
    return [_ask(trace, lever, begin) for lever, begin in zip(pair, (1.0, 5.2), strict=True)]


@pytest.mark.parametrize(
    ("faults", "numbered", "finding"),
    [
        ((), True, Finding.SOUND),
        (("c1",), True, Finding.CONTROLS),
        (("p1",), True, Finding.MAINS),
        (("p1", "c1"), True, Finding.BOTH),
        ((), False, Finding.PAIRED),
        (("c1",), False, Finding.CROSSED),
        (("p1", "c1"), False, Finding.PAIRED),
    ],
)
def test_one_lever_at_a_time_tells_swapped_hoses(
    faults: tuple[str, ...], numbered: bool, finding: Finding
) -> None:
    answers = _both(*faults, numbered=numbered)
    found = conclude(answers, has_controls=True)
    assert found.finding is finding, found.words
    assert bool(found.swaps) == (finding in {Finding.MAINS, Finding.CONTROLS, Finding.BOTH})
    assert all(a.rise_pa > 3 * BAR and a.control_pa > 3 * BAR for a in answers)


def test_after_one_lever_another_is_asked_for() -> None:
    first = _both()[:1]
    assert conclude(first, has_controls=True).finding is Finding.MORE
    assert "pump 1 rose" in swapped.in_words(first[0], Shown())


def test_a_lever_that_is_not_moved_is_said_after_a_while() -> None:
    test, levels = LeverTest(), {Role.main(1): 20 * BAR, Role.control(1): 5 * BAR}
    test.begin(BUCKET, 0.0)
    at = 0.0
    while test.stage is not Stage.DONE:
        at += 0.5
        assert at < 60.0
        test.see(levels, at)
    assert test.answer is not None
    assert (test.answer.main, test.answer.control) == (None, None)
    assert "nothing answered" in swapped.in_words(test.answer, Shown())


def test_a_merged_function_is_no_answer() -> None:
    test = LeverTest()
    test.begin(Lever("boom"), 0.0)
    for step in range(40):
        rise = 30 * BAR if 10 <= step < 20 else 0.0
        test.see({Role.main(1): 20 * BAR + rise, Role.main(2): 21 * BAR + 0.9 * rise}, step * 0.2)
    assert test.answer is not None
    assert test.answer.both
    assert conclude([test.answer], has_controls=False).finding is Finding.MORE


def test_neutral_is_waited_for() -> None:
    test = LeverTest()
    test.begin(BUCKET, 0.0)
    for step in range(30):
        test.see({Role.main(1): (20 + 10 * (step % 2)) * BAR}, step * 0.2)
    assert test.stage is Stage.NEUTRAL
    assert test.is_restless


def test_answers_that_do_not_agree_are_no_verdict() -> None:
    answers = [Answer(BUCKET, 1, 1), Answer(ARM, 2, 1)]
    assert conclude(answers, has_controls=True).finding is Finding.MIXED


def _rests(**bars: float) -> tuple[list[Channel], list[Rest]]:
    channels = [Channel(n, Role(n.replace("_", ".", 1)), Role(n.replace("_", ".", 1)).dimension)
                for n in bars]  # fmt: skip
    scale = {n: 1.0 if "speed" in n else BAR for n in bars}
    return channels, [Rest(v * scale[n], 0.0, 100) for n, v in bars.items()]


def test_low_idle_of_the_machine_passes_the_wrong_port_check() -> None:
    trace = _idling()
    pressures = [s for s in trace.series if s.stream == "practice"]
    rests = [Rest(float(np.mean(s.values[s.times < 2.0])), 0.0, 200) for s in pressures]
    found = check_ports([s.channel for s in pressures], rests, Shown())
    assert found.passed, found.words


@pytest.mark.parametrize(
    ("bars", "said"),
    [
        ({"pilot": 36, "pump1_main": 36, "pump2_main": 3}, "No stall"),
        ({"pilot": 36, "pump1_main": math.nan, "pump2_main": 22}, "No stall"),
        ({"pilot": 0.1, "pump1_main": 0.2, "pump2_main": 0.0}, "about nothing"),
        ({"pilot": 36, "pump1_main": 22, "engine_speed": 0.0}, "stands still"),
        ({"return_pressure": 3}, "role"),
    ],
)
def test_what_is_not_as_usual_allows_no_stall(bars: dict[str, float], said: str) -> None:
    found = check_ports(*_rests(**bars), Shown())
    assert not found.passed
    assert said in found.words


def test_a_port_without_a_reading_is_no_port_as_usual() -> None:
    found = check_ports(*_rests(pilot=36, pump1_main=math.nan), Shown())
    assert [p.standing for p in found.ports] == [Standing.USUAL, Standing.NOT_READ]


def test_the_sheet_offers_its_highest_pressure_and_its_levers() -> None:
    sheet = sheets.parse(sheets.invented_data())
    top = highest_pa(sheet)
    assert top is not None
    assert 250 * BAR < top < 600 * BAR
    offered = levers(sheet)
    assert offered
    assert all(lever.pump in {1, 2} for lever in offered)
