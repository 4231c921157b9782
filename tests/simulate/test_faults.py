"""Each fault moves the figures the way the trade expects, more the worse it is.

The table is common practice, no source. It is held against the truth and against the analysis.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from gaugebench.analyse.figures import analyse
from gaugebench.analyse.jsonform import as_json
from gaugebench.model.quality import Quality
from gaugebench.model.role import ControlPort, Role
from gaugebench.model.trace import Trace
from gaugebench.simulate.faults import FAULTS
from gaugebench.simulate.moves import FaultOn, Move, Script, Switch
from gaugebench.simulate.plant import BAR, Control, standard_plant
from gaugebench.simulate.script import run

MILD, SEVERE = 0.35, 1.0
Run = tuple[Trace, dict[str, Any]]


def scene(name: str) -> Script:
    """A short job: what is done in it is what shows the fault."""
    plant = standard_plant().with_function("bucket", start=1.05).with_function("arm", start=1.4)
    cancelled = (Switch("cut-off", 0.0, 0.0),)
    both = (Move("bucket", 0.4, 0.9), Move("arm", 0.4, 0.9))
    match name:
        case "over relief":
            return Script(1.8, both, cancelled, plant=plant)
        case "cut off":
            return Script(1.8, both, plant=plant)
        case "bucket":
            return Script(1.8, both[:1], cancelled, plant=plant)
        case "merged":
            at_stop = standard_plant().with_function("boom", start=1.25)
            return Script(2.4, (Move("boom", 0.4, 1.5),), plant=at_stop)
        case "low idle":
            return Script(0.6, plant=plant, engine_rpm=plant.engine.low_idle)
        case "neutral, negative":
            negative = standard_plant(Control.NEGATIVE)
            return Script(0.6, plant=replace(negative, control_port=ControlPort.SIGNAL))
        case "travel":
            moves = (Move("travel left", 0.2, 2.2), Move("travel right", 0.2, 2.2))
            return Script(2.4, moves, plant=plant)
    return Script(0.6, plant=plant)


@cache
def outcome(name: str, fault: str = "", severity: float = 0.0, where: str = "1") -> Run:
    script = scene(name)
    if fault:
        script = replace(script, faults=(FaultOn(fault, severity, where),))
    return run(script)


@cache
def figured(*chosen: Any) -> Run:
    """The same with what the analysis makes of it in the place of the truth."""
    trace, _ = outcome(*chosen)
    return trace, as_json(analyse(trace))


def pump(figure: str, number: str = "1") -> Callable[[Run], float]:
    def pick(found: Run) -> float:
        value = found[1]["loadings"][0]["pumps"][number][figure]
        return float(value["pressure_pa"] if isinstance(value, dict) else value)

    return pick


def between(figure: str) -> Callable[[Run], float]:
    return lambda found: float(found[1]["loadings"][0][figure])


def reads(role: str, start: float, end: float) -> Callable[[Run], float]:
    def pick(found: Run) -> float:
        series = found[0].find(Role.parse(role))
        assert series is not None
        return float(series.between(start, end).values.mean())

    return pick


def gone(role: str) -> Callable[[Run], float]:
    """The share of samples that give no number."""

    def pick(found: Run) -> float:
        series = found[0].find(Role.parse(role))
        assert series is not None
        return float(np.isnan(series.values).mean())

    return pick


@dataclass(frozen=True)
class Row:
    """fault and where; the scene; what is looked at; whether it rises (+1) or falls (−1); why."""

    fault: str
    where: str
    scene: str
    look: Callable[[Run], float]
    way: int
    least: float
    why: str


TABLE = [
    Row("worn pump", "1", "over relief", pump("settled_pa"), -1, 2 * BAR,
        "less flow reaches the relief, so it stands lower on its override"),
    Row("worn pump", "1", "cut off", pump("control_settled_pa"), +1, 2 * BAR,
        "the pump must stroke further to cover its own leakage"),
    Row("cut-off low", "1", "cut off", pump("settled_pa"), -1, 40 * BAR,
        "the pump de-strokes earlier"),
    Row("cut-off low", "1", "cut off", pump("destroke_onset"), -1, 40 * BAR,
        "the pump de-strokes earlier"),
    Row("cut-off high", "1", "cut off", pump("settled_pa"), +1, 4 * BAR,
        "the relief holds instead, above the cut-off's level"),
    Row("main relief low", "1", "over relief", pump("relief_crack"), -1, 60 * BAR,
        "the spring is set low"),
    Row("main relief low", "1", "over relief", between("imbalance_pct"), -1, 20.0,
        "each pump has its own relief"),
    Row("sticking relief", "1", "bucket", pump("overshoot_pct"), +1, 5.0,
        "pressure builds up until the poppet breaks loose"),
    Row("port relief low", "1", "bucket", pump("settled_pa"), -1, 40 * BAR,
        "the port relief opens before the main relief"),
    Row("weak pilot", "1", "low idle", reads("pilot", 0.1, 0.6), -1, 5 * BAR,
        "the worn pump no longer fills the relief at low idle"),
    Row("orifice blocked", "1", "over relief", pump("t50_s"), +1, 0.15,
        "the signal reaches the regulator late, so the pump strokes up late"),
    Row("orifice blocked", "1", "neutral, negative", reads("pump1.control", 0.1, 0.6), +1, 10 * BAR,
        "the same flow through a smaller orifice makes more pressure"),
    Row("signal hose leak", "1", "bucket", pump("control_settled_pa"), -1, 2 * BAR,
        "not all of the signal arrives"),
    Row("engine weak", "1", "over relief", reads("engine.speed", 1.1, 1.4), -1, 200.0,
        "the pumps pull it down"),
    Row("air in oil", "1", "over relief", pump("t50_s"), +1, 0.01,
        "air must be squeezed before the pressure rises"),
    Row("merge valve slow", "1", "merged", between("sync_lag_s"), +1, 0.05,
        "the second pump joins late"),
    Row("track drags", "2", "travel", reads("pump2.main", 1.9, 2.4), +1, 40 * BAR,
        "the dragging track needs more pressure"),
    Row("torque limit low", "1", "over relief", pump("control_settled_pa"), -1, 3 * BAR,
        "both pumps are held at less stroke"),
    Row("zero shift", "p1", "neutral", reads("pump1.main", 0.1, 0.6), +1, 10 * BAR,
        "a constant is added, 2 % of full scale"),
    Row("loose contact", "p1", "over relief", gone("pump1.main"), +1, 0.1,
        "each time the contact opens the converter sees no signal"),
    Row("range error", "p1", "bucket", reads("pump1.main", 1.1, 1.4), -1, 50 * BAR,
        "every reading is scaled by the wrong range"),
]  # fmt: skip


@pytest.mark.parametrize("row", TABLE, ids=lambda r: f"{r.fault}, {r.scene}")
def test_a_fault_moves_the_figures_as_the_trade_expects(row: Row) -> None:
    """In truth, and in the figures that a technician is shown."""
    for seen in (outcome, figured):
        sound = row.look(seen(row.scene))
        mild = row.look(seen(row.scene, row.fault, MILD, row.where))
        severe = row.look(seen(row.scene, row.fault, SEVERE, row.where))
        assert row.way * (severe - sound) >= row.least, row.why
        assert row.way * (mild - sound) > 0, row.why
        assert row.way * (severe - mild) > 0, row.why


def test_a_high_cut_off_leaves_the_relief_to_hold_the_pressure() -> None:
    sound = outcome("cut off")[1]["loadings"][0]["pumps"]["1"]
    high = outcome("cut off", "cut-off high", SEVERE)[1]["loadings"][0]["pumps"]["1"]
    assert (sound["limited_by"], high["limited_by"]) == ("cut-off", "relief")
    assert high["destroke_onset"] is None


def test_a_low_port_relief_is_what_holds_the_pressure() -> None:
    low = outcome("bucket", "port relief low", SEVERE)[1]["loadings"][0]["pumps"]["1"]
    assert low["limited_by"] == "port relief"
    # The knee is the port relief's own, seen at the pump: above its crack by the inlet's drop.
    crack, set_to = low["relief_crack"]["pressure_pa"], (375 - 130) * BAR
    assert set_to < crack < 1.05 * set_to


def test_swapped_hoses_show_the_other_pump() -> None:
    trace, truth = outcome("bucket", "swapped hoses", SEVERE, "p1")
    one, two = trace.find(Role.main(1)), trace.find(Role.main(2))
    assert one is not None
    assert two is not None
    assert one.values.max() < 60 * BAR
    assert two.values.max() > 300 * BAR
    assert truth["loadings"][0]["pumps"].keys() == {"1"}


def test_a_wire_off_gives_no_number() -> None:
    series = outcome("neutral", "wire off", SEVERE, "c2")[0].find(Role.control(2))
    assert series is not None
    assert np.isnan(series.values).all()


def test_a_wire_on_the_supply_gives_no_number_either() -> None:
    series = outcome("neutral", "wire shorted", SEVERE, "c2")[0].find(Role.control(2))
    assert series is not None
    assert np.isnan(series.values).all()
    assert (series.quality & np.uint16(Quality.OVER_RANGE | Quality.WIRE_OFF)).all()


def test_every_fault_is_in_a_test_and_there_are_twelve_or_more() -> None:
    tested = {row.fault for row in TABLE} | {"swapped hoses", "wire off", "wire shorted"}
    assert tested == set(FAULTS)
    assert len(FAULTS) >= 12


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_of_no_severity_changes_nothing(name: str) -> None:
    where = "p1" if FAULTS[name].on_rig else "1"
    script = Script(0.1, faults=(FaultOn(name, 0.0, where),))
    assert np.array_equal(
        run(script)[0].series[1].values, run(replace(script, faults=()))[0].series[1].values
    )
