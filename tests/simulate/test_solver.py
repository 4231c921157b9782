"""The fixed step: converged, and in agreement with a general-purpose stiff solver."""

from __future__ import annotations

from dataclasses import replace
from math import ceil

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from gaugebench.simulate.layout import FUNCTIONS, RELIEF, WIDTH, Demand, P, Slopes
from gaugebench.simulate.machine import STEP_S, Machine
from gaugebench.simulate.plant import BAR, Control, Plant, standard_plant
from gaugebench.simulate.rates import rates_of


def at_its_stop(control: Control) -> Plant:
    return standard_plant(control).with_function("bucket", start=1.05)


@pytest.mark.parametrize("control", list(Control))
@pytest.mark.parametrize("cut_off", [True, False])
def test_scipys_stiff_solver_agrees(control: Control, cut_off: bool) -> None:
    """Radau (scipy) over a slam against the stop: within 1 ms of it at every instant."""
    plant = at_its_stop(control)
    machine = Machine(plant)
    demand = machine.demand
    demand.cut_off = cut_off
    machine.lever("bucket", 1.0)
    demand.active = [2]
    demand.nu = plant.oil.viscosity(plant.oil_celsius)
    at = FUNCTIONS + WIDTH * 2
    begin = machine.state[:FUNCTIONS] + machine.state[at : at + WIDTH]
    instants = np.arange(0.01, 0.5, 0.01)
    rates, fixed = rates_of(plant), Demand(demand.levers, demand.no_load_rpm, cut_off)
    fixed.active, fixed.nu = [2], demand.nu

    def derivative(_t: float, x: np.ndarray) -> list[float]:
        return rates(x.tolist(), fixed, Slopes(len(x)))

    scale = np.array([max(abs(v), 1.0) for v in begin])
    other = solve_ivp(
        derivative, (0, 0.5), begin, method="Radau", rtol=1e-7, atol=1e-7 * scale,
        t_eval=instants, max_step=2e-3,
    )  # fmt: skip
    assert other.success
    ours = []
    for _ in instants:
        machine.advance(0.01)
        ours.append(machine.state[P])
    theirs = other.y[P]
    swing = theirs.max() - theirs[0]
    assert swing > 280 * BAR
    slope = np.abs(np.gradient(theirs, instants)).max()
    assert np.abs(np.array(ours) - theirs).max() < 1e-3 * slope
    assert abs(ours[-1] - theirs[-1]) < 0.0005 * swing


def slam(control: Control, step_s: float, cut_off: bool) -> dict[str, float]:
    """The instants (s) and levels (Pa) of a slam, watched at the solver's own steps."""
    machine = Machine(at_its_stop(control), step_s=step_s)
    machine.demand.cut_off = cut_off
    machine.lever("bucket", 1.0)
    tick = min(step_s, 2.5e-4)
    mains, openings, strokes = [], [], []
    for _ in range(ceil(0.8 / tick)):
        machine.advance(tick)
        mains.append(machine.state[P])
        openings.append(machine.state[RELIEF])
        strokes.append(machine.state[2])
    p = np.array(mains)
    crack = machine.plant.reliefs[0].crack
    found = {"settled": float(p[-200:].mean()), "peak": float(p.max())}
    for name, level in (("half", 180 * BAR), ("crack", crack)):
        above = np.flatnonzero(p > level)
        if len(above):
            k = int(above[0])
            found[name] = (k + (level - p[k - 1]) / (p[k] - p[k - 1])) * tick
    if cut_off:
        gone = np.flatnonzero((np.array(strokes) < 0.5) & (p > 300 * BAR))
        found["half stroke"] = float(gone[0]) * tick
    return found


@pytest.mark.parametrize("control", list(Control))
@pytest.mark.parametrize("cut_off", [True, False])
def test_halving_the_step_changes_nothing_that_matters(control: Control, cut_off: bool) -> None:
    whole, half = slam(control, STEP_S, cut_off), slam(control, STEP_S / 2, cut_off)
    assert whole.keys() == half.keys()
    for level in ("settled", "peak"):
        assert whole[level] == pytest.approx(half[level], rel=1e-3), level
    for event in whole.keys() - {"settled", "peak"}:
        assert abs(whole[event] - half[event]) < 1e-3, event


def test_the_method_is_of_second_order() -> None:
    """Where the equations are smooth a quarter of the error is left after halving the step."""
    plant = replace(at_its_stop(Control.POSITIVE))

    def pressure_after(step_s: float) -> float:
        machine = Machine(plant)
        machine.step_s = step_s
        machine.lever("bucket", 1.0)
        machine.advance(0.05)
        return machine.state[P]

    fine = pressure_after(1.5625e-5)
    errors = [abs(pressure_after(step) - fine) for step in (4e-4, 2e-4, 1e-4)]
    assert errors[0] / errors[1] > 3.0
    assert errors[1] / errors[2] > 3.0
