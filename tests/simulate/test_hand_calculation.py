"""Steady states of the machine against what one works out by hand.

The relations are definitions or stand in any handbook of fluid power (for example Merritt,
Hydraulic Control Systems, 1967, for the orifice; from memory); the numbers are recomputed here.
"""

from dataclasses import replace
from math import inf, pi, sqrt

import pytest

from gaugebench.simulate.layout import (
    FUNCTIONS,
    GOVERNOR,
    PA,
    REGULATED,
    SIGNAL,
    SPEED,
    TURN,
    Demand,
    P,
    S,
    Slopes,
)
from gaugebench.simulate.machine import Machine
from gaugebench.simulate.oil import Oil
from gaugebench.simulate.plant import (
    BAR,
    CC,
    LITRE_A_MINUTE,
    Control,
    CutOff,
    Engine,
    Function,
    Plant,
    Pump,
    Relief,
    standard_plant,
)
from gaugebench.simulate.rates import rates_of
from gaugebench.simulate.valves import conductance, orifice

NO_CUT_OFF = CutOff(start=900 * BAR)
IDEAL = Pump(leak=0.0, mechanical=1.0, friction_nm=0.0)


def steady_engine(rpm: float) -> Engine:
    """An engine that nothing slows down, friction left out."""
    return Engine(high_idle=rpm, droop=1e-3, torque_nm=2000.0, inertia=50.0, friction_nm=0.0)


@pytest.mark.parametrize(
    ("bar", "litres"), [(10, 5.512979), (20, 7.796530), (80, 15.593059), (100, 17.433570)]
)
def test_an_orifice_passes_cd_a_root_2dp_over_rho(bar: float, litres: float) -> None:
    # Q = Cd·A·√(2Δp/ρ), Cd 0.61, 2 mm, 870 kg/m³.
    flow = orifice(conductance(2e-3, 870.0), bar * BAR)
    assert flow / LITRE_A_MINUTE == pytest.approx(litres, rel=0.01)
    assert conductance(2e-3, 870.0) * sqrt(bar * BAR) / LITRE_A_MINUTE == pytest.approx(
        litres, rel=1e-5
    )


def test_four_times_the_pressure_doubles_the_flow_of_an_orifice() -> None:
    assert orifice(1e-6, 80 * BAR) / orifice(1e-6, 20 * BAR) == pytest.approx(2.0, rel=0.005)
    assert orifice(1e-6, -20 * BAR) == -orifice(1e-6, 20 * BAR)


def test_a_pump_of_100_cc_at_2000_rpm_and_95_percent_delivers_190_litres() -> None:
    # Q = D·n·η_v: 100 cm³ × 2000 /min × 0.95 = 190 L/min. The leakage is set to 5 % at 200 bar.
    leak = 0.05 * 100 * CC * 2000 / 60 / (200 * BAR)
    oil = Oil(30.0, 5.2, air=0.0)
    pump = Pump(displacement=100 * CC, leak=leak)
    relief = Relief(crack=190 * BAR, override=10 / 190, rated_flow=190 * LITRE_A_MINUTE)
    plant = Plant(
        pumps=(pump, pump),
        reliefs=(relief, relief),
        cutoffs=(NO_CUT_OFF, NO_CUT_OFF),
        engine=steady_engine(2000.0),
        oil=oil,
        oil_celsius=40.0,
        warmth=inf,
        torque_nm=inf,
    ).with_function("bucket", start=1.05)
    machine = Machine(plant)
    machine.lever("bucket", 1.0)
    machine.advance(2.0)
    assert machine.state[S] == pytest.approx(1.0, abs=1e-3)
    # Over the relief goes what the pump delivers; it is set to stand at 200 bar with 190 L/min.
    assert machine.reading().main[0] / BAR == pytest.approx(200.0, abs=0.25)


@pytest.mark.parametrize(
    ("bar", "cc", "newton_metres"), [(250, 100, 397.88736), (280, 63, 280.74932)]
)
def test_the_engine_carries_dp_d_over_2_pi(bar: float, cc: float, newton_metres: float) -> None:
    pump = replace(IDEAL, displacement=cc * CC)
    relief = Relief(crack=bar / 1.04 * BAR, override=0.04, rated_flow=cc * CC * 2000 / 60)
    plant = Plant(
        pumps=(pump, pump),
        reliefs=(relief, relief),
        cutoffs=(NO_CUT_OFF, NO_CUT_OFF),
        engine=steady_engine(2000.0),
        oil=Oil(30.0, 5.2),
        oil_celsius=40.0,
        warmth=inf,
        torque_nm=inf,
    ).with_function("bucket", start=1.05)
    machine = Machine(plant)
    machine.lever("bucket", 1.0)
    machine.advance(2.5)
    x = machine.state
    idle_pump = x[S + 1] * cc * CC / (2 * pi) * x[P + 1]
    pilot = plant.pilot.displacement / (2 * pi) * machine.reading().pilot / 0.9
    assert x[GOVERNOR] - idle_pump - pilot == pytest.approx(newton_metres, rel=2e-3)


@pytest.mark.parametrize(("litres", "flow", "rate"), [(1.0, 10.0, 2333.3333), (5.0, 60.0, 2800.0)])
def test_a_closed_volume_rises_at_b_q_over_v(litres: float, flow: float, rate: float) -> None:
    # dp/dt = B·Q/V, B 1.4 GPa: 1 L and 10 L/min, 5 L and 60 L/min.
    pump = replace(IDEAL, gallery=litres * 1e-3)
    plant = Plant(
        control=Control.LOAD_SENSING, pumps=(pump, pump), oil=Oil(air=0.0, stiffness_pa=1.4e9)
    )
    x = list(Machine(plant).state)
    x[P] = x[SIGNAL] = 100 * BAR
    x[S] = flow * LITRE_A_MINUTE / (pump.displacement * x[TURN] / (2 * pi))
    slope = rates_of(plant)(x, Demand([0.0] * 6, 2000.0), Slopes(len(x)))[P]
    assert slope / BAR == pytest.approx(rate, rel=1e-5)


def test_a_cylinder_moves_at_flow_over_area() -> None:
    # 80 L/min, 100 mm bore, 60 mm rod, 0.8 m: out at 0.169765 m/s in 4.71239 s, in at 0.265258 m/s
    # in 3.01593 s.
    bore, rod = pi * 0.1**2 / 4, pi * (0.1**2 - 0.06**2) / 4
    displacement = 80 * LITRE_A_MINUTE / (2000 / 60)
    pump = replace(IDEAL, displacement=displacement)
    cylinder = Function(
        "bucket", area_a=bore, area_b=rod, stroke=0.8, mass=2000.0, load=0.0, friction=500.0
    )
    plant = Plant(
        pumps=(pump, pump),
        engine=steady_engine(2000.0),
        oil=Oil(air=0.0),
        functions=(cylinder,),
        cutoffs=(NO_CUT_OFF, NO_CUT_OFF),
        torque_nm=inf,
    )
    machine = Machine(plant)
    for lever, speed, seconds in ((1.0, 0.169765, 4.71239), (-1.0, -0.265258, 3.01593)):
        machine.lever("bucket", lever)
        machine.advance(1.5)
        assert machine.state[FUNCTIONS + SPEED] == pytest.approx(speed, rel=2e-3)
        spent = 1.5
        while 0 < machine.state[FUNCTIONS + 1] < 0.8 or spent < 1.6:
            machine.advance(0.005)
            spent += 0.005
        # Lever and swash plate take their time at the start: nothing moves faster than by hand.
        assert seconds < spent < seconds + 0.25
        machine.advance(0.5)


def test_relief_heat_is_p_q_over_600() -> None:
    # P[kW] = p[bar]·Q[L/min]/600. With all of the flow over the relief the oil warms by just that,
    # and by what the other pump and the pilot take.
    plant = replace(
        standard_plant(),
        pumps=(IDEAL, IDEAL),
        cutoffs=(NO_CUT_OFF, NO_CUT_OFF),
        engine=steady_engine(2000.0),
        cooling=0.0,
        torque_nm=inf,
    ).with_function("bucket", start=1.05)
    machine = Machine(plant)
    machine.lever("bucket", 1.0)
    machine.advance(2.0)
    before = machine.state[17]
    machine.advance(2.0)
    warmed_watts = (machine.state[17] - before) / 2.0 * plant.warmth
    x = machine.state
    by_hand = 0.0
    for i in (0, 1):
        litres = x[S + i] * 110e-3 * x[TURN] * 60 / (2 * pi)
        by_hand += x[P + i] / BAR * litres / 600 * 1e3
    by_hand += machine.reading().pilot / BAR * 10e-3 * x[TURN] * 60 / (2 * pi) / 600 * 1e3 / 0.9
    assert by_hand > 100e3
    assert warmed_watts == pytest.approx(by_hand, rel=2e-3)


def test_a_loaded_cylinder_stands_at_force_over_area() -> None:
    plant = standard_plant()
    machine = Machine(plant)
    boom = plant.functions[0]
    machine.lever("boom", 0.5)
    machine.advance(1.0)
    machine.lever("boom", 0.0)
    machine.advance(1.0)
    # p_A·A = load + p_B·b, dry friction either way
    a, b = machine.state[FUNCTIONS + PA], machine.state[FUNCTIONS + PA + 1]
    assert abs(a * boom.area_a - b * boom.area_b - boom.load) <= boom.friction * 1.2


def test_the_regulator_turns_pressure_into_stroke_by_its_line() -> None:
    # 2 bar is stroke 0 and 29 bar stroke 1; half lever asks for 6 + 0.5·24 = 18 bar.
    machine = Machine(standard_plant())
    machine.lever("bucket", 0.5)
    machine.advance(0.6)
    assert machine.state[REGULATED] / BAR == pytest.approx(18.0, abs=0.05)
    assert machine.state[S] == pytest.approx((18 - 2) / 27, abs=0.005)
