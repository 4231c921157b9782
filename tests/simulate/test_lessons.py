"""The exercises that a learner chooses from, and the machine left to his hands."""

from __future__ import annotations

import numpy as np
import pytest

from gaugebench.model.terms import Measures
from gaugebench.procedure.sheet import invented_data, parse
from gaugebench.simulate import lessons
from gaugebench.simulate.exercise import found_plant, judge, true_reading
from gaugebench.simulate.faults import FAULTS
from gaugebench.simulate.layout import FUNCTIONS, PLACE
from gaugebench.simulate.moves import Script
from gaugebench.simulate.perform import Hands, Performance
from gaugebench.simulate.plant import BAR, Plant
from gaugebench.simulate.screws import put, setting


@pytest.mark.parametrize("screw", list(lessons.AIMS))
def test_an_aim_is_the_band_of_the_invented_sheet(screw: str) -> None:
    # The bands are those of the sheet; what a setting reads is the machine's own.
    sheet = parse(invented_data())
    check = next(
        c
        for c in sheet.check
        if screw in c.screws and c.figure in (Measures.RELIEF, Measures.CUT_OFF)
    )
    band = check.limits
    assert band is not None
    assert band.low is not None
    assert band.high is not None
    low, high = (true_reading(put(Plant(), screw, end), screw) for end in lessons.AIMS[screw])
    assert low / BAR == pytest.approx(band.low / BAR, abs=1.0)
    assert high / BAR == pytest.approx(band.high / BAR, abs=1.0)


def test_every_lesson_can_be_begun_and_its_faults_can_be_named() -> None:
    claims = {(c.name, c.where) for c in lessons.CLAIMS}
    assert {name for name, _ in claims} == set(FAULTS) - {"wire off", "wire shorted"}
    for one in lessons.LESSONS:
        made = lessons.exercise(one.key, seed=5)
        assert {(f.name, f.where) for f in made.script.faults} <= claims
        assert Performance(made.script).is_off
    with pytest.raises(KeyError, match="no exercise “golf”"):
        lessons.exercise("golf")


def test_a_surprise_is_the_same_for_the_same_seed_and_draws_what_can_be_named() -> None:
    drawn = [lessons.exercise(lessons.SURPRISE, seed).script.faults for seed in range(30)]
    assert drawn == [lessons.exercise(lessons.SURPRISE, s).script.faults for s in range(30)]
    assert {len(faults) for faults in drawn} == {1, 2}
    assert len(set(drawn)) > 8


def test_a_learner_who_finds_the_low_relief_and_sets_it_passes() -> None:
    made = lessons.exercise("bite")
    left = put(found_plant(made), "relief 1", 330 * BAR)
    readings = {name: true_reading(left, name) for name in lessons.AIMS}
    assert judge(made, left, readings, made.script.faults).passed
    assert not judge(made, found_plant(made), readings, made.script.faults).passed


def _hands(script: Script) -> tuple[Hands, Performance]:
    hands = Hands()
    return hands, Performance(script, hands)


def test_with_the_engine_off_the_pressures_are_gone_and_come_back() -> None:
    hands, machine = _hands(lessons.exercise("look").script)
    off = machine.at(0.5)
    assert (off.main, off.control, off.pilot, off.rpm) == ((0, 0), (0, 0), 0, 0)
    assert off.celsius == pytest.approx(50, abs=1)
    hands.switch("engine", 950.0)
    low = machine.at(4.5)
    assert low.rpm == pytest.approx(950, rel=0.03)
    assert 35 < low.pilot / BAR < 39
    hands.switch("engine", 2050.0)
    assert machine.at(8.0).rpm == pytest.approx(2040, rel=0.02)
    hands.switch("engine", 0.0)
    falling = [machine.at(8.0 + 0.25 * n).pilot for n in range(1, 40)]
    assert np.all(np.diff(falling) < 0)
    assert falling[-1] < 0.01 * BAR


def test_a_started_machine_stands_where_it_was_stopped() -> None:
    hands, machine = _hands(lessons.exercise("look").script)
    hands.switch("engine", 2050.0)
    machine.go_to(2.0)
    hands.lever("boom", 1.0)
    machine.go_to(4.0)
    hands.lever("boom", 0.0)
    hands.switch("engine", 0.0)
    machine.go_to(5.0)
    before = machine.machine.state[FUNCTIONS + PLACE]
    assert before > 0.3  # m: the boom is first of the functions
    hands.switch("engine", 950.0)
    machine.go_to(8.0)
    assert machine.machine.state[FUNCTIONS + PLACE] == pytest.approx(before, abs=0.02)


def test_a_pinned_track_stalls_and_a_free_one_runs() -> None:
    hands, machine = _hands(lessons.exercise("look").script)
    hands.switch("engine", 2050.0)
    machine.go_to(3.0)
    hands.lever("travel right", 1.0)
    running = machine.at(5.0).main[0]
    hands.lever("travel right", 0.0)
    machine.go_to(6.5)
    hands.pin("travel right", is_held=True)
    hands.lever("travel right", 1.0)
    held = machine.at(9.0).main[0]
    assert held > 1.2 * running
    assert held > 315 * BAR  # the invented sheet: at least 315 bar
    hands.lever("travel right", 0.0)
    hands.pin("travel right", is_held=False)
    machine.go_to(10.5)
    hands.lever("travel right", 1.0)
    assert machine.at(12.5).main[0] == pytest.approx(running, rel=0.1)


def test_a_screw_turned_while_a_track_is_pinned_stays_turned() -> None:
    hands, machine = _hands(lessons.exercise("look").script)
    hands.pin("swing", is_held=True)
    hands.turn("relief 1", 0.25)
    hands.pin("swing", is_held=False)
    machine.go_to(0.1)
    assert setting(machine.plant, "relief 1") / BAR == pytest.approx(330 + 30)
