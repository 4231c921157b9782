"""Each circuit behaves as the trade says it does.

The bands are common practice, no source, unless one is named; they vary between machines.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import inf

import numpy as np
import pytest

from gaugebench.model.role import ControlPort
from gaugebench.simulate.layout import FUNCTIONS, PA, SPEED, WIDTH, P, S
from gaugebench.simulate.machine import Machine, Reading
from gaugebench.simulate.plant import BAR, DIRECT_ACTING, Control, Plant, Pump, standard_plant

Hold = Callable[..., Machine]
Watch = Callable[[Machine, float], list[Reading]]
SWING = 3


def ready(control: Control = Control.POSITIVE, **changes: object) -> Plant:
    """Bucket and arm at their stops, so that a lever goes straight to the limit."""
    plant = replace(standard_plant(control), **changes)  # type: ignore[arg-type]
    return plant.with_function("bucket", start=1.05).with_function("arm", start=1.40)


def bars(reading: Reading) -> tuple[float, float, float, float]:
    return (
        reading.main[0] / BAR,
        reading.main[1] / BAR,
        reading.control[0] / BAR,
        reading.control[1] / BAR,
    )


NEUTRAL = {Control.NEGATIVE: (20, 40), Control.POSITIVE: (0, 8), Control.LOAD_SENSING: (0, 8)}
FULL = {Control.NEGATIVE: (0, 5), Control.POSITIVE: (25, 35), Control.LOAD_SENSING: (25, 35)}


@pytest.mark.parametrize("control", list(Control))
def test_control_pressures_in_neutral_and_at_full_lever(control: Control, hold: Hold) -> None:
    neutral = bars(hold(standard_plant(control), 0.5).reading())
    moving = bars(hold(standard_plant(control), 1.5, bucket=1).reading())
    assert NEUTRAL[control][0] <= neutral[2] <= NEUTRAL[control][1]
    assert FULL[control][0] <= moving[2] <= FULL[control][1]
    # The wrong-port check's bands for main pressure in neutral.
    assert 10 <= neutral[0] <= 45
    assert 10 <= neutral[1] <= 45


def test_negative_control_follows_the_bypass_flow_squared(hold: Hold) -> None:
    plant = replace(standard_plant(Control.NEGATIVE), control_port=ControlPort.SIGNAL)
    high, low = Machine(plant), Machine(plant, rpm=1400.0)
    flow = [m.state[S] * m.reading().rpm for m in (high, low)]
    signal = [m.reading().control[0] for m in (high, low)]
    assert signal[1] / signal[0] == pytest.approx((flow[1] / flow[0]) ** 2, rel=0.01)
    half = hold(plant, 1.0, bucket=0.8)
    assert half.reading().control[0] < 0.6 * signal[0]


def test_load_sensing_keeps_its_margin_until_the_cut_off(hold: Hold) -> None:
    plant = replace(standard_plant(Control.LOAD_SENSING), control_port=ControlPort.SIGNAL)
    stand_by = bars(hold(plant, 0.5).reading())
    assert stand_by[2] == pytest.approx(0.0, abs=1.0)
    assert 15 <= stand_by[0] <= 30
    slow = plant.with_function("bucket", load=1.5e5)
    working = bars(hold(slow, 1.0, bucket=0.35).reading())
    assert 14 <= working[0] - working[2] <= 29
    stalled = bars(hold(slow.with_function("bucket", start=1.05), 1.5, bucket=1).reading())
    assert stalled[0] - stalled[2] < 2.0


@pytest.mark.parametrize("control", list(Control))
@pytest.mark.parametrize("lever", [0.7, 1.0])
def test_the_cut_off_holds_below_the_relief_and_does_not_hunt(
    control: Control, lever: float, hold: Hold, watch: Watch
) -> None:
    machine = hold(ready(control), 1.5, bucket=lever)
    seen = np.array([bars(r) for r in watch(machine, 1.0)])
    assert np.ptp(seen[:, 0]) < 0.2
    assert np.ptp(seen[:, 2]) < 0.3
    assert 315 < seen[:, 0].mean() < 330 - 2  # the relief cracks at 330 bar
    assert machine.state[S] < 0.25
    over = hold(ready(control), 1.5, bucket=1, cut_off=False).reading().main[0] / BAR
    assert 10 <= over - seen[:, 0].mean() <= 22


def test_the_engine_picks_up_when_the_cut_off_unloads_it(hold: Hold) -> None:
    held = hold(ready(), 1.5, bucket=1, cut_off=False).reading().rpm
    unloaded = hold(ready(), 1.5, bucket=1).reading().rpm
    assert 20 <= unloaded - held <= 90


@pytest.mark.parametrize("control", [Control.NEGATIVE, Control.POSITIVE])
def test_torque_limit_and_cut_off_show_at_regulated_ports_and_not_at_signal_ports(
    control: Control, hold: Hold
) -> None:
    def at_ports(machine: Machine) -> dict[ControlPort, float]:
        found = {}
        for port in (ControlPort.SIGNAL, ControlPort.REGULATED, ControlPort.SERVO):
            machine.plant = replace(machine.plant, control_port=port)
            found[port] = machine.reading().control[0] / BAR
        return found

    plant = ready(control)
    free = at_ports(hold(replace(plant, torque_nm=inf), bucket=1, cut_off=False))
    both = at_ports(hold(plant, bucket=1, arm=1, cut_off=False))
    cut = at_ports(hold(plant, bucket=1))
    assert both[ControlPort.SIGNAL] == pytest.approx(free[ControlPort.SIGNAL], abs=0.8)
    assert cut[ControlPort.SIGNAL] == pytest.approx(free[ControlPort.SIGNAL], abs=0.5)
    for port in (ControlPort.REGULATED, ControlPort.SERVO):
        assert abs(both[port] - free[port]) > 5.0
        assert abs(cut[port] - free[port]) > abs(both[port] - free[port])


def test_the_torque_limit_takes_from_both_pumps_by_the_sum_of_their_pressures(hold: Hold) -> None:
    plant = ready()
    machine = hold(plant, 1.5, bucket=1, arm=1, cut_off=False)
    x = machine.state
    assert x[S] == pytest.approx(x[S + 1], rel=1e-3)
    # Σ p·D·s/2π stays at the limit.
    torque = sum(x[P + i] * x[S + i] * plant.pumps[i].displacement / 6.283185307 for i in (0, 1))
    assert torque == pytest.approx(plant.torque_nm, rel=0.01)
    alone = hold(plant, 1.5, bucket=1, cut_off=False)
    assert alone.state[S] > 1.5 * x[S]
    # One pump alone reads differently over the relief from both.
    assert alone.reading().main[0] - machine.reading().main[0] > 2 * BAR


def test_a_weak_engine_lugs_down_and_a_sound_one_does_not(hold: Hold) -> None:
    plant = ready()
    sound = hold(plant, 1.5, bucket=1, arm=1, cut_off=False).reading().rpm
    weak = replace(plant, engine=replace(plant.engine, torque_nm=480.0))
    assert 0 < 2050 - sound < 0.1 * 2050
    assert 2050 - hold(weak, 2.5, bucket=1, arm=1, cut_off=False).reading().rpm > 250


def test_override_by_the_kind_of_relief(hold: Hold) -> None:
    """Pilot-operated 3 to 8 %, direct-acting 10 to 25 %, of crack at rated flow."""
    strong = ready(torque_nm=inf)
    piloted = hold(strong, 1.5, bucket=1, cut_off=False).reading().main[0]
    direct = replace(strong, reliefs=(replace(DIRECT_ACTING, crack=250 * BAR),) * 2)
    direct_pa = hold(direct, 1.5, bucket=1, cut_off=False).reading().main[0]
    assert 0.03 <= piloted / (330 * BAR) - 1 <= 0.08
    assert 0.10 <= direct_pa / (250 * BAR) - 1 <= 0.25


def test_the_second_stage_raises_the_relief(hold: Hold) -> None:
    machine = hold(ready(), 1.5, bucket=1, cut_off=False)
    usual = machine.reading().main[0]
    machine.demand.boost = True
    machine.advance(1.0)
    assert 1.05 <= machine.reading().main[0] / usual <= 1.10
    machine.demand.boost = False
    machine.advance(1.0)
    assert machine.reading().main[0] == pytest.approx(usual, rel=2e-3)


def test_a_shared_relief_hides_the_wear_of_a_pump(hold: Hold) -> None:
    worn = (Pump(), replace(Pump(), leak=8 * Pump().leak))
    apart = []
    for shared in (True, False):
        plant = ready(shared_relief=shared, pumps=worn)
        a, b, *_ = bars(hold(plant, bucket=1, arm=1, cut_off=False).reading())
        apart.append(200 * (a - b) / (a + b))
    assert abs(apart[0]) < 0.5
    assert apart[1] > abs(apart[0]) + 0.3


def test_merged_pumps_agree_and_the_valve_sets_their_lag(watch: Watch) -> None:
    def lag(plant: Plant) -> float:
        machine = Machine(plant)
        machine.lever("boom", 1.0)
        seen = np.array([bars(r) for r in watch(machine, 2.5)])
        assert abs(200 * (seen[-1, 0] - seen[-1, 1]) / seen[-1, :2].sum()) < 1.0
        crossed = [int(np.flatnonzero(seen[:, i] > 200)[0]) for i in (0, 1)]
        return (crossed[1] - crossed[0]) * 1e-3

    at_stop = standard_plant().with_function("boom", start=1.25)
    quick, slow = lag(at_stop), lag(replace(at_stop, merge_lag_s=0.5))
    assert -0.01 < quick < 0.1
    assert slow > quick + 0.05


def test_a_port_relief_below_the_main_relief_holds_the_pressure(hold: Hold) -> None:
    plant = ready().with_function("bucket", port_a=270 * BAR)
    assert 270 < hold(plant, 1.5, bucket=1, cut_off=False).reading().main[0] / BAR < 300


def test_swing_plateaus_below_main_while_it_accelerates_and_brakes_over_the_other_side(
    watch: Watch,
) -> None:
    machine = Machine(standard_plant())
    machine.lever("swing", 1.0)
    speeding = np.array([bars(r)[1] for r in watch(machine, 2.0)])[500:]
    assert 0.70 * 330 <= speeding.mean() <= 0.85 * 330
    assert np.ptp(speeding) < 20
    at = FUNCTIONS + WIDTH * SWING
    speed = machine.state[at + SPEED]
    machine.lever("swing", 0.0)
    machine.advance(0.6)
    assert machine.state[at + PA + 1] > 255 * BAR
    machine.advance(5.0)
    assert abs(machine.state[at + SPEED]) < 0.05 * speed


def test_travel_runs_straight_stalls_when_blocked_and_is_faster_in_high(hold: Hold) -> None:
    plant = standard_plant()
    low = hold(plant, 2.5, travel_left=1, travel_right=1)
    left, right = (low.state[FUNCTIONS + WIDTH * k + SPEED] for k in (4, 5))
    assert left == pytest.approx(right, rel=0.01)
    high = Machine(plant)
    high.demand.fast = True
    for name in ("travel left", "travel right"):
        high.lever(name, 1.0)
    high.advance(4.0)
    assert high.state[FUNCTIONS + WIDTH * 4 + SPEED] > 1.2 * left
    blocked = replace(
        plant,
        functions=tuple(f.blocked() if "travel" in f.name else f for f in plant.functions),
    )
    stalled = hold(blocked, 1.5, travel_left=1, travel_right=1)
    assert abs(stalled.state[FUNCTIONS + WIDTH * 4 + SPEED]) < 0.05
    assert stalled.reading().main[0] > 310 * BAR


def test_pilot_pressure_drops_little_from_high_to_low_idle() -> None:
    """A drop of over 3 to 5 bar suggests a worn pilot pump."""
    plant = standard_plant()
    high, low = Machine(plant), Machine(plant, rpm=plant.engine.low_idle)
    assert 35 <= high.reading().pilot / BAR <= 42
    assert 0 <= (high.reading().pilot - low.reading().pilot) / BAR < 3


def test_cold_oil_leaks_less_and_hot_oil_more(hold: Hold) -> None:
    """Leakage through clearances is laminar: it goes as 1/viscosity."""
    strokes = []
    for celsius in (10.0, 50.0, 80.0):
        plant = ready(oil_celsius=celsius, ambient=celsius)
        strokes.append(hold(plant, 1.5, bucket=1).state[S])  # cut off: the stroke covers leakage
    nu = [Plant().oil.viscosity(t) for t in (10.0, 50.0, 80.0)]
    assert strokes[1] / strokes[0] == pytest.approx(nu[0] / nu[1], rel=0.05)
    assert strokes[2] / strokes[1] == pytest.approx(nu[1] / nu[2], rel=0.05)


def test_time_over_the_relief_warms_the_oil_and_neutral_cools_it(hold: Hold) -> None:
    machine = hold(ready(), 2.5, bucket=1, arm=1, cut_off=False)
    warm = machine.reading().celsius
    assert warm > 50.25
    machine.lever("bucket", 0.0)
    machine.lever("arm", 0.0)
    machine.advance(4.0)
    assert machine.reading().celsius < warm


def test_air_in_the_oil_slows_the_rise(watch: Watch) -> None:
    def to_200_bar(air: float) -> int:
        plant = ready()
        machine = Machine(replace(plant, oil=replace(plant.oil, air=air)))
        machine.lever("bucket", 1.0)
        return int(np.flatnonzero([r.main[0] > 200 * BAR for r in watch(machine, 1.0)])[0])

    assert to_200_bar(0.08) > to_200_bar(0.002) + 15


def test_an_engine_that_is_pulled_down_too_far_dies_and_stays_off(hold: Hold) -> None:
    plant = ready(torque_nm=inf)
    weak = replace(plant, engine=replace(plant.engine, torque_nm=400.0))
    machine = hold(weak, 3.0, bucket=1, arm=1, cut_off=False)
    machine.lever("bucket", 0.0)
    machine.lever("arm", 0.0)
    machine.advance(1.0)
    assert 0 <= machine.reading().rpm < 5
    assert machine.reading().main[0] < 5 * BAR
