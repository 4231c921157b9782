"""What stands beside a figure's value: its ± against simulation, and the reason in its words."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from gaugebench.analyse import budget, calibration, flow, power
from gaugebench.analyse.assure import assure
from gaugebench.analyse.conditions import conditions
from gaugebench.analyse.pistons import speed_from_ripple
from gaugebench.analyse.verdict import Limits, Outcome, judge
from gaugebench.model.figures import Absent, Event, Figure
from tests.analyse import test_conditions as visit
from tests.analyse.test_assure import FIGURES, ground
from tests.analyse.test_pistons import hold

OWN = 0.5 / 100 * 600e5 / 2
"""The standard uncertainty of a transducer of 600 bar and 0.5 % at k = 2, Pa."""


def test_every_pressure_carries_its_transducer() -> None:
    pump = assure(FIGURES, ground()).loadings[0].pumps[1]
    assert isinstance(pump.relief_crack, Event)
    every = (pump.initial, pump.settled, pump.peak, pump.raw_peak, pump.relief_crack.pressure)
    for answer in every:
        assert isinstance(answer, Figure)
        assert answer.parts[budget.ACCURACY] == pytest.approx(OWN)
        assert answer.parts["noise"] == 0.1e5
        assert answer.expanded == pytest.approx(2 * math.hypot(*answer.parts.values()))


def test_an_override_carries_what_a_zero_and_a_bow_of_its_transducer_change_in_it() -> None:
    """Both put into the readings themselves: a bow is nought at nought and at the plateau."""
    pump = assure(FIGURES, ground()).loadings[0].pumps[1]
    assert isinstance(pump.override, Figure)
    assert isinstance(pump.settled, Figure)
    assert isinstance(pump.relief_crack, Event)
    assert isinstance(pump.relief_crack.pressure, Figure)
    settled, crack = pump.settled.value, pump.relief_crack.pressure.value

    def override(settled: float, crack: float) -> float:
        return 100 * (settled - crack) / crack

    true = override(settled, crack)
    by_zero = override(settled + OWN, crack + OWN) - true
    bow = 4 * OWN * crack * (settled - crack) / settled**2
    by_bow = override(settled, crack + bow) - true
    told = pump.override.parts[budget.ACCURACY]
    assert told == pytest.approx(math.hypot(by_zero, by_bow), rel=0.01)
    unstated = assure(FIGURES, ground(stated=None)).loadings[0].pumps[1].override
    assert isinstance(unstated, Figure)
    assert budget.ACCURACY not in unstated.parts


def test_an_imbalance_of_pumps_with_unlike_parts() -> None:
    """JCGM 100:2008 equation (10), its coefficients by differences."""
    one = Figure(340e5, "Pa", 0.4e5, {"noise": 0.1e5, "fit": 0.2e5})
    two = Figure(350e5, "Pa", 0.4e5, {"noise": 0.1e5, "zero": 0.3e5})
    found = budget.imbalance(one, two)
    assert isinstance(found, Figure)

    def value(first: float, second: float) -> float:
        return 200 * (first - second) / (first + second)

    by_one = value(340e5 + 1, 350e5) - value(340e5, 350e5)
    by_two = value(340e5, 350e5 + 1) - value(340e5, 350e5)
    assert found.parts == pytest.approx(
        {
            "noise": 0.1e5 * math.hypot(by_one, by_two),
            "fit": 0.2e5 * abs(by_one),
            "zero": 0.3e5 * abs(by_two),
        },
        rel=1e-3,
    )
    nothing = Figure(0.0, "Pa")
    absent = budget.imbalance(nothing, nothing)
    assert isinstance(absent, Absent)
    assert str(absent.reason) == "Neither pump is under pressure."


def test_a_correction_to_a_rated_speed_that_is_none_or_with_too_much_droop_is_refused() -> None:
    time, speed = Figure(4.0, "s"), Figure(1950.0, "rpm")
    for rated, droop, why in (
        (0.0, 1.0, "The sheet does not state the rated speed."),
        (2000.0, 3.46, "The engine droops by 3.5 %, too much to correct (under 3 %)."),
    ):
        found = flow.at_rated_speed(time, speed, rated, Figure(droop, "%"), unloaded=True)
        assert isinstance(found, Absent)
        assert str(found.reason) == why


def test_an_engine_that_stands_gives_no_power() -> None:
    found = power.pump_power(Figure(2e5, "Pa", 1e4), Figure(0.0, "rpm", 2.0), 100e-6)
    assert isinstance(found, Figure)
    assert found.value == 0.0


def test_a_pressure_of_unknown_uncertainty_adds_no_part_to_power() -> None:
    found = power.pump_power(Figure(2e7, "Pa"), Figure(1800.0, "rpm", 20.0), 100e-6)
    assert isinstance(found, Figure)
    assert found.parts.get("pressure", 0.0) == 0.0


@pytest.mark.parametrize(
    ("value", "outcome", "reason"),
    [
        (343e5, Outcome.PASS, "the reading lies inside its band"),
        (330e5, Outcome.FAIL, "the reading lies outside its band"),
        (
            339e5,
            Outcome.CANNOT_TELL,
            "the reading lies inside its band, but nearer to the limit than its uncertainty",
        ),
        (
            337e5,
            Outcome.CANNOT_TELL,
            "the reading lies outside its band, but nearer to the limit than its uncertainty",
        ),
    ],
)
def test_a_verdict_says_why(value: float, outcome: Outcome, reason: str) -> None:
    said = judge(value, 2e5, Limits(338e5, 348e5))
    assert (said.outcome, said.reason) == (outcome, reason)


def test_the_parts_of_a_speed_from_ripple_are_the_spread_that_noise_makes() -> None:
    """By simulation, after JCGM 101: one speed, other noise each time; then quarters of a hold."""

    def found(seed: int, seconds: float) -> Figure:
        answer = speed_from_ripple(*hold(1500.0, seed=seed, seconds=seconds, noise=0.2), 9)
        assert isinstance(answer, Figure)
        return answer

    whole = [found(seed, 1.5) for seed in range(60)]
    spread = float(np.std([f.value for f in whole]))
    line = float(np.median([f.parts["line in the spectrum"] for f in whole]))
    assert line == pytest.approx(spread, rel=0.3)
    quarter = float(np.std([found(seed, 0.375).value for seed in range(100, 220)]))
    wander = math.sqrt(np.mean([f.parts["wander"] ** 2 for f in whole]))
    assert wander == pytest.approx(quarter / 2, rel=0.12)


def test_a_line_through_two_points_of_a_live_zero_carries_what_its_four_readings_do() -> None:
    """4 to 20 mA for 0 to 600 bar, JCGM 100:2008 equation (13), coefficients by differences."""
    readings, applied = np.array([4.0, 20.0]), np.array([0.0, 600.0])
    found = calibration.two_point(readings, applied, 2e-4, 0.003, 0.5)
    exact = np.array([*applied, *readings])

    def line(ends: np.ndarray[tuple[int], np.dtype[np.float64]]) -> tuple[float, float]:
        y0, y1, x0, x1 = ends
        slope = (y1 - y0) / (x1 - x0)
        return slope, y0 - slope * x0

    steps = 1e-6 * np.eye(4)
    jacobian = np.array([(np.subtract(line(exact + h), line(exact - h))) / 2e-6 for h in steps]).T
    spread = jacobian @ np.diag([0.0, 2e-4 * 600, 0.003, 0.003]) ** 2 @ jacobian.T
    assert (found.slope, found.intercept) == pytest.approx(line(exact))
    assert found.slope_standard == pytest.approx(math.sqrt(spread[0, 0]), rel=1e-5)
    assert found.intercept_standard == pytest.approx(math.sqrt(spread[1, 1]), rel=1e-5)
    together = found.correlation * found.slope_standard * found.intercept_standard
    assert together == pytest.approx(spread[0, 1], rel=1e-5)


def test_a_speed_that_is_missing_in_the_hold_is_told() -> None:
    trace = visit.trace()
    *others, speed = trace.series
    dead = replace(speed, values=np.full(len(speed.values), np.nan))
    found = conditions(replace(trace, series=(*others, dead)), visit.LOADING, visit.DATA)
    assert isinstance(found.speed, Absent)
    assert str(found.speed.reason) == "The engine's speed has no samples in the hold."
