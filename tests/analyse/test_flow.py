"""Flow from travel time and corrected cycle times, against closed forms; and their refusals."""

import math

import pytest

from gaugebench.analyse import flow
from gaugebench.analyse.flow import Circumstances, Cylinder
from gaugebench.model.figures import Absent, Answer, Figure

PLAIN = Circumstances(regeneration=False, merged=False, torque_limited=False)
CYLINDER = Cylinder(0.100, 0.060, 0.8)


def reason(answer: Answer) -> str:
    assert isinstance(answer, Absent)
    return answer.reason


@pytest.mark.parametrize(("rod_side", "seconds"), [(False, 4.71239), (True, 3.01593)])
def test_flow_from_travel(rod_side: bool, seconds: float) -> None:
    # exact: 80 L/min moves 100/60 mm × 0.8 m out in 4.71239 s and in in 3.01593 s
    cylinder = Cylinder(0.100, 0.060, 0.8, fills_rod_side=rod_side)
    found = flow.from_travel(cylinder, Figure(seconds, "s", 0.04), PLAIN)
    assert isinstance(found, Figure)
    assert found.value * 60e3 == pytest.approx(80.0, rel=1e-5)
    # the bounds of common practice: 3 to 5 %
    assert found.expanded is not None
    assert 0.03 < found.expanded / found.value < 0.05
    assert found.cautions == ()


def test_unknown_circumstances_are_said() -> None:
    found = flow.from_travel(CYLINDER, Figure(4.0, "s", 0.04), Circumstances(merged=False))
    assert isinstance(found, Figure)
    assert len(found.cautions) == 2


def test_void_flow() -> None:
    time = Figure(4.0, "s", 0.04)
    assert "regenerates" in reason(
        flow.from_travel(CYLINDER, time, Circumstances(regeneration=True))
    )
    assert "joins" in reason(flow.from_travel(CYLINDER, time, Circumstances(merged=True)))
    assert "torque" in reason(flow.from_travel(CYLINDER, time, Circumstances(torque_limited=True)))
    assert "bore" in reason(flow.from_travel(None, time, PLAIN))
    assert "no stop" in reason(flow.from_travel(CYLINDER, Absent("no stop was seen"), PLAIN))
    assert "zero" in reason(flow.from_travel(CYLINDER, Figure(0.0, "s"), PLAIN))


def test_corrected_time() -> None:
    found = flow.at_rated_speed(
        Figure(4.0, "s", 0.05),
        Figure(1950.0, "rpm", 8.0),
        2000.0,
        Figure(2.0, "%", 0.3),
        unloaded=True,
    )
    assert isinstance(found, Figure)
    assert found.value == pytest.approx(3.9)
    assert found.expanded == pytest.approx(math.hypot(0.05 * 0.975, 8.0 * 4.0 / 2000))


def test_corrected_time_is_refused() -> None:
    time, speed, droop = Figure(4.0, "s"), Figure(1950.0, "rpm"), Figure(2.0, "%")
    gone = Absent("there is no such channel")
    assert "cycle time" in reason(flow.at_rated_speed(gone, speed, 2e3, droop, unloaded=True))
    assert "engine speed" in reason(flow.at_rated_speed(time, gone, 2e3, droop, unloaded=True))
    assert "droop" in reason(flow.at_rated_speed(time, speed, 2e3, gone, unloaded=True))
    assert "rated" in reason(flow.at_rated_speed(time, speed, None, droop, unloaded=True))
    assert "loaded" in reason(flow.at_rated_speed(time, speed, 2e3, droop, unloaded=False))
    for too_much in (Figure(3.0, "%"), Figure(2.8, "%", 0.3)):
        refused = flow.at_rated_speed(time, speed, 2e3, too_much, unloaded=True)
        assert "droops by" in reason(refused)
