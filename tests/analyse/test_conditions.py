"""What stands beside a loading: on a made-up loading whose truth is known by hand."""

import json
from dataclasses import replace

import numpy as np
import pytest

from gaugebench.analyse.conditions import PumpData, conditions
from gaugebench.analyse.conditionsjson import conditions_json
from gaugebench.model.arrays import F64
from gaugebench.model.channel import Channel
from gaugebench.model.figures import (
    Absent,
    Event,
    Figure,
    LimitedBy,
    Limiter,
    LoadingFigures,
    PumpFigures,
    Window,
)
from gaugebench.model.role import Role
from gaugebench.model.trace import Series, Trace
from gaugebench.quantity import Dimension

HOLD = Window(4.0, 6.0, 2000)
NONE = Absent("Not needed here.")
PUMP = PumpFigures(
    initial=Figure(120e5, "Pa", 2e5, {}, HOLD),
    settled=Figure(300e5, "Pa", 3e5, {}, HOLD),
    peak=NONE,
    raw_peak=NONE,
    t50=Figure(2.9, "s", 0.01, {}, HOLD),
    settle=NONE,
    overshoot=NONE,
    ripple_pp=NONE,
    ripple_rms=NONE,
    relief_crack=Event(Figure(3.0, "s", 0.01, {}, HOLD), Figure(290e5, "Pa", 4e5, {}, HOLD)),
    override=NONE,
    destroke_onset=Absent("The pump stays loaded."),
    control_settled=NONE,
    limited_by=LimitedBy(Limiter.RELIEF, "Oil goes over it."),
)
LOADING = LoadingFigures(2.5, 6.0, {1: PUMP}, NONE, NONE, NONE, NONE, NONE)
# 120 cm³ at 2000 rpm: 240 L/min at full stroke without leakage
DATA = {1: PumpData(displacement=120e-6, pistons=9)}


def trace(*, with_engine: bool = True) -> Trace:
    rng = np.random.default_rng(3)
    fast, slow = np.arange(8000) / 1000, np.arange(80) / 10
    main = 300e5 + 2e5 * np.sin(2 * np.pi * 300 * fast) + 0.5e5 * rng.standard_normal(8000)
    speed = np.where(slow < 2.5, 2100.0, 2000.0) + 0.5 * rng.standard_normal(80)

    def series(name: str, dimension: Dimension, times: F64, values: F64) -> Series:
        quality = np.zeros(len(times), np.uint16)
        return Series(Channel(name, Role(name), dimension), times, values, quality, name)

    found = (
        series("pump1.main", Dimension.PRESSURE, fast, main),
        series("oil.temperature", Dimension.TEMPERATURE, slow, np.full(80, 48.5)),
        series("engine.speed", Dimension.SPEED, slow, speed),
    )
    return Trace(found if with_engine else found[:2])


def figure(answer: object) -> Figure:
    assert isinstance(answer, Figure), answer
    return answer


def reason(answer: object) -> str:
    assert isinstance(answer, Absent)
    return answer.reason


def test_speed_and_temperature() -> None:
    found = conditions(trace(), LOADING, DATA)
    assert figure(found.speed).value == pytest.approx(2000.0, abs=1.0)
    assert figure(found.temperature).value == 48.5
    assert figure(found.droop.droop).value == pytest.approx(100 / 21, abs=0.1)
    # 9 pistons at 2000 rpm: 300 Hz
    assert figure(found.pumps[1].ripple_speed).value == pytest.approx(2000.0, abs=1.0)


def test_power_and_heat_over_the_relief() -> None:
    # 300 bar × 240 L/min × 0.93 is 111.6 kW; from 3.0 s to 6.0 s 334.8 kJ
    pump = conditions(trace(), LOADING, DATA).pumps[1]
    power, heat = figure(pump.hold_power), figure(pump.relief_heat)
    assert power.value == pytest.approx(111.6e3, rel=1e-3)
    assert heat.value == pytest.approx(334.8e3, rel=1e-3)
    assert heat.unit == "J"
    assert heat.expanded == pytest.approx(3 * (power.expanded or 0.0), rel=0.01)
    assert any("estimate" in caution for caution in heat.cautions)
    assert "travels" in reason(pump.travel_power)


def test_power_on_the_way() -> None:
    loading = replace(LOADING, cycle_time=Figure(2.0, "s"))
    power = figure(conditions(trace(), loading, DATA).pumps[1].travel_power)
    assert power.value == pytest.approx(0.4 * 111.6e3, rel=1e-3)


def test_without_an_engine_channel_the_ripple_serves() -> None:
    found = conditions(trace(with_engine=False), LOADING, DATA)
    assert "engine's speed" in reason(found.speed)
    assert "engine's speed" in reason(found.droop.droop)
    assert figure(found.pumps[1].hold_power).value == pytest.approx(111.6e3, rel=2e-3)


def test_a_pump_taken_back_is_hardly_known() -> None:
    at = Figure(3.2, "s", 0.01, {}, HOLD)
    taken = replace(PUMP, destroke_onset=Event(at, Absent("Too fast.")))
    power = figure(
        conditions(trace(), replace(LOADING, pumps={1: taken}), DATA).pumps[1].hold_power
    )
    assert (power.expanded or 0.0) > 0.5 * power.value


def test_what_cannot_be_had() -> None:
    cut = replace(PUMP, limited_by=LimitedBy(Limiter.CUT_OFF, "It de-strokes."))
    pump = conditions(trace(), replace(LOADING, pumps={1: cut}), DATA).pumps[1]
    assert "cut-off" in reason(pump.relief_heat)
    bare = conditions(trace(), LOADING).pumps[1]
    assert "pistons" in reason(bare.ripple_speed)
    assert "displacement" in reason(bare.hold_power)
    lost = replace(PUMP, relief_crack=NONE, t50=Absent("No rise."))
    heat = conditions(trace(), replace(LOADING, pumps={1: lost}), DATA).pumps[1].relief_heat
    assert "since when" in reason(heat)
    late = replace(LOADING, end_s=2.0)
    assert "No oil" in reason(conditions(trace(), late, DATA).pumps[1].relief_heat)


def test_as_plain_data() -> None:
    row = conditions_json(conditions(trace(), LOADING, DATA))
    assert json.loads(json.dumps(row, allow_nan=False)) == row
    assert row["engine_speed_rpm"] == pytest.approx(2000.0, abs=1.0)
    pump = row["pumps"]["1"]
    assert pump["relief_heat_j"] == pytest.approx(334.8e3, rel=1e-3)
    assert pump["u"]["relief_heat_j"] > 0
    assert "estimate" in pump["cautions"]["hold_power_w"][0]
    assert pump["travel_power_w"] is None
    assert "travels" in pump["why_absent"]["travel_power_w"]
