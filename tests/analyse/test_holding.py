"""What holds a pressure, on made-up pressures that follow one law each."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import pytest

from gaugebench.analyse.figures import analyse
from gaugebench.model.arrays import F64
from gaugebench.model.figures import Absent, Event, Figure, Limiter, LoadingFigures, PumpFigures
from gaugebench.model.role import ControlPort, Role
from gaugebench.model.trace import Trace

MPA = 1e6
TIMES = np.arange(0, 12, 0.002)
IDLE, TOP = 2.5 * MPA, 33 * MPA
Made = Callable[..., Trace]


def noisy(values: F64, size: float = 0.01 * MPA) -> F64:
    return values + size * np.random.default_rng(7).standard_normal(len(values))


def ramp(*corners: tuple[float, float]) -> F64:
    made: F64 = np.interp(TIMES, [t for t, _ in corners], [v * MPA for _, v in corners])
    return made


def lagged(values: F64, lag_s: float) -> F64:
    out, state = np.empty_like(values), values[0]
    for index, value in enumerate(values):
        state += (value - state) * 0.002 / lag_s
        out[index] = state
    return out


MAIN = ramp((4, 2.5), (4.5, 33), (8, 33), (8.2, 2.5))
LEVER = ramp((3.8, 0.5), (4.1, 2.9), (8, 2.9), (8.2, 0.5))


def loading(made_up: Made, columns: Mapping[str, F64], port: str = "regulated") -> LoadingFigures:
    trace = made_up(TIMES, {"pilot": noisy(np.full(len(TIMES), 3.9 * MPA)), **columns})
    series = tuple(
        replace(s, channel=replace(s.channel, control_port=ControlPort(port)))
        if s.channel.role == Role.control(1)
        else s
        for s in trace.series
    )
    (found,) = analyse(replace(trace, series=series)).loadings
    return found


def pump_of(made_up: Made, main: F64, control: F64, port: str = "regulated") -> PumpFigures:
    columns = {"pump1.main": noisy(main, 0.02 * MPA), "pump1.control": noisy(control)}
    return loading(made_up, columns, port).pumps[1]


@pytest.mark.parametrize("lag_s", [0.02, 0.06])
@pytest.mark.parametrize("left", [0.15, 0.4, 0.7])
def test_a_slide_with_the_sum_of_the_mains_is_the_torque_limit(
    made_up: Made, lag_s: float, left: float
) -> None:
    """stroke × sum = constant: hyperbolic constant-torque control of axial-piston pumps."""
    least = 0.2 * MPA  # the control pressure of no stroke
    limit = least + 2.7 * MPA * left * TOP / lagged(MAIN, lag_s)
    found = pump_of(made_up, MAIN, np.minimum(LEVER, limit))
    assert found.limited_by.limiter is Limiter.RELIEF
    assert isinstance(found.destroke_onset, Absent)
    assert "torque limit" in found.destroke_onset.reason


@pytest.mark.parametrize("band", [0.8, 2.5])
def test_a_stroke_taken_away_near_the_top_is_the_cut_off(made_up: Made, band: float) -> None:
    left = np.clip(1 - (lagged(MAIN, 0.004) - 31 * MPA) / (band * MPA), 0.1, 1.0)
    found = pump_of(made_up, MAIN, np.minimum(LEVER, 0.2 * MPA + 2.7 * MPA * left))
    assert found.limited_by.limiter is Limiter.CUT_OFF
    assert isinstance(found.destroke_onset, Event)
    assert isinstance(found.destroke_onset.pressure, Figure)
    assert found.destroke_onset.pressure.value == pytest.approx(31 * MPA, rel=0.02)


def stroke_on_servo(cut_off: bool) -> F64:
    """The share of main on a stroking piston: 0.45 without stroke, 0.12 at full stroke."""
    up = np.interp(TIMES, [3.8, 4.2, 8, 8.2], [0.15, 1, 1, 0.15])
    if cut_off:
        up = np.minimum(up, np.clip(1 - (lagged(MAIN, 0.02) - 31 * MPA) / (2 * MPA), 0.1, 1.0))
    shown: F64 = MAIN * (0.45 - 0.33 * up)
    return shown


@pytest.mark.parametrize("port", ["servo", "unknown"])
@pytest.mark.parametrize(
    ("cut_off", "limiter"), [(True, Limiter.CUT_OFF), (False, Limiter.RELIEF)], ids=str
)
def test_a_servo_port_is_read_as_a_share_of_main(
    made_up: Made, port: str, cut_off: bool, limiter: Limiter
) -> None:
    found = pump_of(made_up, MAIN, stroke_on_servo(cut_off), port)
    assert found.limited_by.limiter is limiter
    assert isinstance(found.destroke_onset, Event if cut_off else Absent)


def test_a_boost_stage_makes_two_plateaus_and_says_both(made_up: Made) -> None:
    main = ramp((4, 2.5), (4.5, 31), (6, 31), (6.1, 33), (8, 33), (8.2, 2.5))
    found = pump_of(made_up, main, LEVER)
    assert found.limited_by.limiter is Limiter.BOOST
    assert "31.0" in found.limited_by.reason
    assert "33.0" in found.limited_by.reason
    low, high = found.plateaus
    assert low.pressure_pa == pytest.approx(31 * MPA, rel=0.002)
    assert high.pressure_pa == pytest.approx(33 * MPA, rel=0.002)
    assert 4.4 < low.start_s < low.end_s < 6.2 <= high.start_s + 0.2 < high.end_s < 8.1


def test_a_boost_that_is_given_back_leaves_the_relief(made_up: Made) -> None:
    main = ramp((4, 2.5), (4.5, 33), (6, 33), (6.1, 31), (8, 31), (8.2, 2.5))
    assert pump_of(made_up, main, LEVER).limited_by.limiter is Limiter.RELIEF


@pytest.mark.parametrize(("heads_for", "limiter"), [(20, Limiter.LEVER), (26, Limiter.RELIEF)])
def test_a_lever_part_way_is_told_by_the_climb(
    made_up: Made, heads_for: float, limiter: Limiter
) -> None:
    """A first-order climb that dies away is the centre's; one cut short at 20 MPa a relief's."""
    part = np.where(LEVER > 1.6 * MPA, 1.6 * MPA, LEVER)
    climb = IDLE + (heads_for * MPA - IDLE) * -np.expm1(-np.clip(TIMES - 3.95, 0, None) / 0.4)
    main = np.where(TIMES < 8, np.minimum(climb, 20 * MPA), IDLE)
    found = pump_of(made_up, lagged(main, 0.02), part)
    assert found.limited_by.limiter is limiter


@pytest.mark.parametrize("falls", [True, False], ids=["positive", "negative"])
def test_a_travel_too_light_to_be_seen_is_reached_back_to(made_up: Made, falls: bool) -> None:
    main = ramp((2, 2.5), (2.3, 3.1), (5, 3.1), (5.1, 33), (8, 33), (8.2, 2.5))
    near = np.clip((lagged(main, 0.004) - 31 * MPA) / MPA, 0.0, 1.0)
    up = np.interp(TIMES, [2, 2.4, 8, 8.2], [0.1, 1.0, 1.0, 0.1])
    stroke = np.minimum(up, 1 - near)
    control = (0.2 + 2.7 * (stroke if falls else 1 - stroke)) * MPA
    found = loading(made_up, {"pump1.main": noisy(main), "pump1.control": noisy(control)})
    assert isinstance(found.cycle_time, Figure)
    assert found.cycle_time.value == pytest.approx(3.0, abs=0.08)
    assert found.pumps[1].limited_by.limiter is Limiter.CUT_OFF
    assert isinstance(found.pumps[1].destroke_onset, Event)


def pushes(levels: list[float], apart_s: float) -> tuple[F64, F64, F64]:
    """Instants, main and control of pushes of 2 s to levels in MPa."""
    every = 2.7 + apart_s
    times = np.arange(0, 3 + every * len(levels), 0.005)
    main, control = np.full(len(times), IDLE), np.full(len(times), 0.5 * MPA)
    for number, level in enumerate(levels):
        at = 2 + number * every
        shape = np.interp(times, [at, at + 0.5, at + 2.5, at + 2.7], [0, 1, 1, 0])
        main += shape * (level * MPA - IDLE)
        control += 2.4 * MPA * np.interp(times, [at - 0.2, at, at + 2.5, at + 2.7], [0, 1, 1, 0])
    return times, noisy(main, 0.02 * MPA), noisy(control)


@pytest.mark.parametrize(
    ("levels", "apart_s", "ports"),
    [
        ([25, 33, 25], 2, {0, 2}),
        ([33, 25, 33], 2, {1}),
        ([25, 33, 25], 60, set()),  # a screw may have been turned and turned back
        ([25, 33], 2, set()),  # may be one screw, before and after
        ([31, 33, 31], 2, set()),  # may be a boost
    ],
)
def test_a_port_relief_shows_where_levels_come_and_go(
    made_up: Made, levels: list[float], apart_s: float, ports: set[int]
) -> None:
    times, main, control = pushes(levels, apart_s)
    pilot = noisy(np.full(len(times), 3.9 * MPA))
    trace = made_up(times, {"pilot": pilot, "pump1.main": main, "pump1.control": control})
    kinds = [one.pumps[1].limited_by.limiter for one in analyse(trace).loadings]
    assert kinds == [
        Limiter.PORT_RELIEF if n in ports else Limiter.RELIEF for n in range(len(levels))
    ]
