"""What the engine puts into the pumps comes out again as heat, work or stored energy."""

from __future__ import annotations

from dataclasses import replace
from math import inf, pi, sqrt, tanh

import pytest

from gaugebench.simulate.actuators import SLOW_CYLINDER
from gaugebench.simulate.layout import FUNCTIONS, PILOT, RELIEF, TURN, WIDTH, P, S
from gaugebench.simulate.machine import Machine
from gaugebench.simulate.plant import Plant, standard_plant
from gaugebench.simulate.valves import orifice


def powers(plant: Plant, x: list[float], nu: float, active: list[int]) -> dict[str, float]:
    """Power of every element, W, from its own flow and pressures (positive control, bucket)."""
    thin, turn = 30.0 / nu, x[TURN]
    pilot = plant.pilot.displacement / (2 * pi) * x[PILOT] * turn
    found = {"in": 0.0, "lost": 0.0, "to load": 0.0, "gone into spool": 0.0}
    for i in (0, 1):
        p, pump, relief = x[P + i], plant.pumps[i], plant.reliefs[i]
        found["in"] += p * x[S + i] * pump.displacement / (2 * pi) * turn
        full = relief.rated_flow / sqrt(relief.crack * (1 + relief.override))
        found["lost"] += pump.leak * thin * p * p
        found["lost"] += p * full * x[RELIEF + i] * sqrt(max(p, 1.0))
        opening = 1.0
        for k in active:
            if plant.functions[k].feeds[i]:
                opening *= max(0.0, 1 - 1.1 * abs(x[FUNCTIONS + WIDTH * k]))
        if p > plant.foot_pa:
            found["lost"] += p * orifice(plant.centre * opening, p - plant.foot_pa)
    for k in active:
        f = plant.functions[k]
        spool, place, speed, pa, pb = x[FUNCTIONS + WIDTH * k : FUNCTIONS + WIDTH * (k + 1)]
        forward = spool >= 0
        drive, back = (pa, pb) if forward else (pb, pa)
        feeding = 0 if f.feeds[0] else 1
        if x[P + feeding] > drive:
            flow = orifice(f.inlet * abs(spool), x[P + feeding] - drive)
            found["lost"] += flow * (x[P + feeding] - drive)
        found["lost"] += back * orifice(f.outlet * abs(spool), back - plant.return_pa)
        found["to load"] += (pa * f.area_a - pb * f.area_b) * speed
        grip = f.friction * tanh(speed / SLOW_CYLINDER) * speed
        found["gone into spool"] += f.load * speed + grip
        assert place < f.stroke  # the end stop has a spring and a damper of its own
    assert pilot > 0
    return found


def stored(plant: Plant, x: list[float], function: int) -> float:
    """Energy in compressed oil, ∫p·V/B dp, J."""
    f = plant.functions[function]
    place, _, pa, pb = x[FUNCTIONS + WIDTH * function + 1 : FUNCTIONS + WIDTH * (function + 1)]
    b = plant.oil.stiffness_pa
    total = sum(x[P + i] ** 2 * plant.pumps[i].gallery / (2 * b) for i in (0, 1))
    total += pa**2 * (f.dead + f.area_a * place) / (2 * b)
    return total + pb**2 * (f.dead + f.area_b * (f.stroke - place)) / (2 * b)


@pytest.mark.parametrize("hold", [False, True])
def test_the_balance_closes_within_one_percent(hold: bool) -> None:
    plant = replace(standard_plant(), warmth=inf)
    plant = replace(plant, oil=replace(plant.oil, air=0.0))
    # Travelling against a heavy load, or dead against it: too heavy to move, so over the relief.
    load = 6e5 if hold else 1.5e5
    plant = plant.with_function("bucket", load=load, start=0.05, port_a=900e5)
    machine = Machine(plant)
    machine.demand.cut_off = False
    machine.lever("bucket", 1.0)
    before = stored(plant, machine.state, 2)
    sums = dict.fromkeys(("in", "lost", "to load", "gone into spool"), 0.0)
    last = powers(plant, machine.state, machine.demand.nu, [2])
    for _ in range(int((0.6 if hold else 2.0) / 5e-4)):
        machine.advance(5e-4)
        now = powers(plant, machine.state, machine.demand.nu, [2])
        for key in sums:
            sums[key] += 0.5 * (last[key] + now[key]) * 5e-4
        last = now
    change = stored(plant, machine.state, 2) - before
    assert sums["in"] > 20e3
    gap = sums["in"] - sums["lost"] - sums["to load"] - change
    assert abs(gap) < 0.01 * sums["in"]
    # And the load's own account: what it was given it has as height, friction and speed.
    speed = machine.state[FUNCTIONS + WIDTH * 2 + 2]
    moving = 0.5 * plant.functions[2].mass * speed**2
    given = sums["to load"] - sums["gone into spool"] - moving
    assert abs(given) < 0.01 * sums["in"]
