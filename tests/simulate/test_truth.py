"""The truth of a run follows the definitions of the figures."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from gaugebench.model.role import ControlPort, Role
from gaugebench.simulate.history import TICK_S, History
from gaugebench.simulate.moves import Move, Script, Switch, Turn
from gaugebench.simulate.perform import Hands, Performance
from gaugebench.simulate.plant import BAR, CutOff, Plant, Relief, standard_plant
from gaugebench.simulate.rig import Rigging
from gaugebench.simulate.script import run

CANCELLED = Switch("cut-off", 0.0, 0.0)
BUCKET = Move("bucket", 0.4, 1.0)


def twins(**changes: Any) -> Plant:
    """Two pumps that each feed a bucket of their own, both at their stops."""
    plant = replace(standard_plant(), **changes)
    bucket = replace(plant.function("bucket"), start=1.05)
    return replace(plant, functions=(bucket, replace(bucket, name="arm", feeds=(0.0, 1.0))))


def loadings(script: Script) -> list[dict[str, Any]]:
    found = run(script)[1]["loadings"]
    assert isinstance(found, list)
    return found


def test_neutral_and_free_running_hold_no_loading() -> None:
    assert loadings(Script(0.5)) == []
    free = standard_plant().with_function("bucket", start=0.1)
    assert loadings(Script(1.5, (Move("bucket", 0.2, 0.8),), plant=free)) == []


def test_only_the_pump_that_is_driven_up_is_in_the_loading() -> None:
    (loading,) = loadings(Script(2.0, (BUCKET,), plant=twins()))
    assert loading["pumps"].keys() == {"1"}
    assert "imbalance_pct" not in loading


def test_the_same_lever_a_tenth_of_a_second_later_is_a_lag_of_a_tenth() -> None:
    moves = (BUCKET, replace(BUCKET, function="arm", start_s=0.5))
    strong = replace(standard_plant().engine, torque_nm=2500.0)
    plant = twins(torque_nm=float("inf"), engine=strong)
    (loading,) = loadings(Script(2.2, moves, (CANCELLED,), plant=plant))
    assert loading["sync_lag_s"] == pytest.approx(0.1, abs=0.004)


def test_levels_and_instants_are_those_that_the_logged_pressure_shows() -> None:
    still = Rigging()
    still = replace(
        still, probes=tuple(replace(p, noise_pa=0.0, bits=24, lag_s=1e-5) for p in still.probes)
    )
    moves = (BUCKET, replace(BUCKET, function="arm"))
    reliefs = (Relief(crack=330 * BAR), Relief(crack=318 * BAR))
    script = Script(
        2.0, moves, (CANCELLED,), plant=twins(reliefs=reliefs), rigging=still, rate_hz=1000.0
    )
    trace, truth = run(script)
    (loading,) = truth["loadings"]
    settled = []
    for n in (1, 2):
        series, pump = trace.find(Role.main(n)), loading["pumps"][str(n)]
        assert series is not None
        p, t = series.values, series.times
        ripple = 4 * BAR
        hold = p[(t > 1.2) & (t < 1.5)]
        settled.append(hold.mean())
        assert pump["settled_pa"] == pytest.approx(hold.mean(), abs=0.1 * BAR)
        assert pump["initial_pa"] == pytest.approx(p[t < 0.4].mean(), abs=0.3 * BAR)
        assert pump["peak_pa"] == pytest.approx(p.max(), abs=ripple)
        half = (pump["initial_pa"] + pump["settled_pa"]) / 2
        assert pump["t50_s"] == pytest.approx(t[np.flatnonzero(p > half)[0]], abs=0.004)
        outside = np.abs(p - pump["settled_pa"]) > 0.02 * pump["settled_pa"]
        last = t[outside & (t < 1.5)].max()
        assert pump["t50_s"] + pump["settle_s"] == pytest.approx(last, abs=0.006)
        assert pump["overshoot_pct"] == pytest.approx(
            100 * (pump["peak_pa"] - pump["settled_pa"]) / (pump["settled_pa"] - pump["initial_pa"])
        )
        crack = pump["relief_crack"]
        assert crack["pressure_pa"] == reliefs[n - 1].crack
        assert crack["time_s"] == pytest.approx(t[p > crack["pressure_pa"]][0], abs=0.003)
        assert pump["limited_by"] == "relief"
        assert pump["destroke_onset"] is None
    a, b = settled
    assert loading["imbalance_pct"] == pytest.approx(200 * (a - b) / (a + b), abs=0.05)


def test_the_cut_off_is_seen_where_the_port_shows_it() -> None:
    (loading,) = loadings(Script(2.2, (replace(BUCKET, rise_s=0.8),), plant=twins()))
    pump, cut = loading["pumps"]["1"], CutOff()
    assert pump["limited_by"] == "cut-off"
    onset = pump["destroke_onset"]
    assert cut.start - cut.most_pa <= onset["pressure_pa"] <= cut.start + 0.6 * cut.band
    assert pump["t50_s"] < onset["time_s"] < pump["t50_s"] + 0.3
    plant = twins(control_port=ControlPort.SIGNAL)
    (hidden,) = loadings(Script(2.0, (BUCKET,), plant=plant))
    assert hidden["pumps"]["1"]["limited_by"] == "cut-off"
    assert hidden["pumps"]["1"]["destroke_onset"] is None


def test_what_holds_the_pressure_is_named() -> None:
    low_port = twins().with_function("bucket", port_a=260 * BAR)
    half = replace(BUCKET, value=0.5)
    cases = {
        "port relief": Script(2.0, (BUCKET,), plant=low_port),
        "boost stage": Script(2.0, (BUCKET,), (CANCELLED, Switch("boost", 0, 1)), plant=twins()),
        "lever not full": Script(2.0, (half,), plant=twins()),
        "relief": Script(2.0, (BUCKET,), (CANCELLED,), plant=twins()),
    }
    for name, script in cases.items():
        (loading,) = loadings(script)
        assert loading["pumps"]["1"]["limited_by"] == name


def test_cycle_time_is_stroke_over_speed() -> None:
    plant = twins().with_function("bucket", start=0.55)
    (loading,) = loadings(Script(4.5, (replace(BUCKET, hold_s=3.5),), plant=plant))
    # From first movement to the stop: 0.5 m at Q/A, and the time to get up to speed.
    litres = 110e-6 * 2033 / 60
    by_hand = 0.5 / (litres / plant.function("bucket").area_a)
    assert by_hand < loading["cycle_time_s"] < by_hand + 0.2
    assert loading["pumps"]["1"]["initial_pa"] > 25 * BAR


def test_a_screw_turned_between_two_holds_shows_in_the_second() -> None:
    script = Script(
        3.6,
        (BUCKET, replace(BUCKET, start_s=2.2)),
        (CANCELLED,),
        (Turn("relief 1", 1.9, -0.25),),
        plant=twins(),
    )
    first, second = loadings(script)
    change = first["pumps"]["1"]["settled_pa"] - second["pumps"]["1"]["settled_pa"]
    assert change == pytest.approx(30 * BAR, rel=0.1)
    assert second["pumps"]["1"]["relief_crack"]["pressure_pa"] == pytest.approx(300 * BAR)


def test_a_port_relief_turned_down_holds_the_second_hold_alone() -> None:
    port = Turn("port bucket a", 1.9, -1.0)
    first, second = loadings(
        Script(3.6, (BUCKET, replace(BUCKET, start_s=2.2)), (CANCELLED,), (port,), plant=twins())
    )
    # A turn is 120 bar, and the port relief stood at 375 bar, above the main relief.
    assert first["pumps"]["1"]["limited_by"] == "relief"
    assert second["pumps"]["1"]["limited_by"] == "port relief"
    assert 255 * BAR < second["pumps"]["1"]["relief_crack"]["pressure_pa"] < 265 * BAR


def test_the_torque_limit_is_that_of_the_moment() -> None:
    both = (BUCKET, replace(BUCKET, function="arm"))
    script = Script(1.2, both, (CANCELLED,), (Turn("torque limit", 1.1, -1.0),), plant=twins())
    performance = Performance(script)
    history = History.of(performance.machine, script.duration_s)
    for tick in range(1200):
        performance.go_to(tick * TICK_S)
        history.note(performance.machine)
    before, after = history.allowed_by_torque(0)[[1095, 1105]]
    # A turn is 120 N·m, and the mains stand over their reliefs all the while.
    limit = Plant().torque_nm
    assert before < 1
    assert after / before == pytest.approx((limit - 120) / limit, rel=0.01)


def test_hands_work_levers_switches_and_screws_while_it_runs() -> None:
    hands = Hands()
    performance = Performance(Script(10.0, plant=twins()), hands)
    performance.go_to(0.2)
    hands.lever("bucket", 1.0)
    performance.go_to(1.2)
    cut = performance.at(1.2).main[0]
    assert cut > 315 * BAR
    hands.switch("cut-off", 0.0)
    performance.go_to(2.2)
    over = performance.machine.reading().main[0]
    assert over > cut + 10 * BAR
    hands.turn("relief 1", -0.25)
    performance.go_to(3.0)
    assert performance.machine.reading().main[0] == pytest.approx(over - 30 * BAR, abs=4 * BAR)
    hands.lever("bucket", 0.0)
    hands.switch("engine", 950.0)
    performance.go_to(8.0)
    assert performance.machine.reading().main[0] < 45 * BAR
    assert performance.machine.reading().rpm == pytest.approx(940, abs=15)


def test_what_the_machine_has_not_is_refused() -> None:
    with pytest.raises(ValueError, match="no function “jib”"):
        Performance(Script(1.0, (Move("jib", 0.0, 1.0),)))
    with pytest.raises(ValueError, match="no switch “horn”"):
        Performance(Script(1.0, switches=(Switch("horn", 0.0, 1.0),)))
    with pytest.raises(KeyError, match="no screw “relief 9”"):
        Performance(Script(1.0, turns=(Turn("relief 9", 0.0, 1.0),)))
    hands = Hands()
    with pytest.raises(KeyError, match="no function “jib”"):
        hands.lever("jib", 1.0)
    with pytest.raises(ValueError, match="no switch “horn”"):
        hands.switch("horn", 1.0)
    with pytest.raises(KeyError, match="no screw “relief 9”"):
        hands.turn("relief 9", 1.0)
