"""A learner's work held against the truth."""

from __future__ import annotations

from dataclasses import replace

import pytest

from gaugebench.simulate.exercise import Exercise, Matter, found_plant, judge, true_reading
from gaugebench.simulate.moves import FaultOn, Script
from gaugebench.simulate.plant import BAR, standard_plant
from gaugebench.simulate.screws import turn

LOW = FaultOn("main relief low", 0.5, "2")
WORN = FaultOn("worn pump", 0.6, "1")
EXERCISE = Exercise(
    Script(10.0, faults=(LOW, WORN)),
    aims={"relief 1": (326 * BAR, 334 * BAR), "relief 2": (326 * BAR, 334 * BAR)},
)


def test_a_machine_put_right_read_right_and_explained_is_a_pass() -> None:
    left = turn(found_plant(EXERCISE), "relief 2", 45 / 120)
    readings = {name: true_reading(left, name) + 1 * BAR for name in ("relief 1", "relief 2")}
    outcome = judge(EXERCISE, left, readings, [replace(LOW, severity=1.0), WORN])
    assert outcome.passed, outcome.missed
    assert [i.matter for i in outcome.items] == [
        *[Matter.SCREW] * 2, *[Matter.READING] * 2, *[Matter.FAULT] * 2,
    ]  # fmt: skip


def test_what_was_missed_is_named_each_for_itself() -> None:
    found = found_plant(EXERCISE)
    wrong = {"relief 1": true_reading(found, "relief 1") - 10 * BAR}
    outcome = judge(EXERCISE, found, wrong, [WORN, FaultOn("weak pilot")])
    assert not outcome.passed
    words = [item.words for item in outcome.missed]
    assert words == [
        "“relief 2” stands too low",
        "“relief 1” was read 10.0 bar too low",
        "“relief 2” was not read again",
        "a main relief is set low (2): was missed",
        "the pilot pump is worn (1): is not there",
    ]


def test_a_true_reading_is_what_the_machine_does() -> None:
    plant = standard_plant()
    over, cut = (true_reading(plant, name) / BAR for name in ("relief 1", "cut-off 1"))
    assert 335 < over < 346
    assert 315 < cut < 328
    assert true_reading(turn(plant, "relief 1", 0.1), "relief 1") / BAR - over == pytest.approx(
        12, abs=1
    )
    high, low = (true_reading(plant, f"pilot {idle}") / BAR for idle in ("high", "low"))
    assert 36 < low < high < 41


def test_names_that_there_are_not_are_refused() -> None:
    left = standard_plant()
    with pytest.raises(KeyError, match="no reading “relief 3”"):
        judge(EXERCISE, left, {"relief 3": 1.0}, [])
    with pytest.raises(KeyError, match="no fault “rust”"):
        judge(EXERCISE, left, {}, [FaultOn("rust")])
    with pytest.raises(KeyError, match="no screw “relief 9”"):
        judge(Exercise(Script(1.0), {"relief 9": (0.0, 1.0)}), left, {}, [])
    with pytest.raises(KeyError, match="no reading “swing”"):
        true_reading(left, "swing")
