"""The machine that runs: its state moved on in fixed steps.

Steps are taken with the second-order Rosenbrock method ROS2 (Verwer, Spee, Blom and Hundsdorfer,
SIAM J. Sci. Comput. 20 (1999) 1456), which keeps its order with any stand-in for the Jacobian;
used is what an explicit step cannot take: each pressure's own stiffness, and how a pump, the other
pump and the chambers they reach push each other.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil, pi, sqrt

from gaugebench.model.role import ControlPort
from gaugebench.simulate.layout import (
    FUNCTIONS,
    GOVERNOR,
    OIL,
    PILOT,
    REGULATED,
    SIGNAL,
    SPEED,
    SUM,
    TURN,
    WIDTH,
    Demand,
    P,
    S,
    Slopes,
)
from gaugebench.simulate.plant import BAR, Plant
from gaugebench.simulate.rates import rates_of
from gaugebench.simulate.valves import RESIDUAL

STEP_S = 1e-3
"""Longest step; see the tests for what halving it changes."""
SERVO_NONE, SERVO_FULL = 0.45, 0.12
"""Share of main pressure on the stroking piston at no stroke and at full stroke."""
_GAMMA = 1 - 1 / sqrt(2)
_WARM_UP_S = 3.0


@dataclass(frozen=True, slots=True)
class Reading:
    """What test ports and speed pick-up see at one instant; gauge Pa, rpm, °C."""

    main: tuple[float, float]
    control: tuple[float, float]
    pilot: float
    rpm: float
    celsius: float


class Machine:
    """A machine at rest in neutral, engine at `rpm`, until it is told otherwise.

    core: the state without its functions, as it is at first; by default neutral, settled.
    """

    def __init__(
        self,
        plant: Plant,
        rpm: float | None = None,
        step_s: float | None = None,
        core: Sequence[float] | None = None,
    ) -> None:
        self.plant = plant
        self.step_s = step_s or STEP_S
        self.time_s = 0.0
        self._index = {f.name: k for k, f in enumerate(plant.functions)}
        self.demand = Demand([0.0] * len(plant.functions), rpm or plant.engine.high_idle)
        self._rates = rates_of(plant)
        if core is None:
            core = _settled(replace(plant, functions=()), self.demand.no_load_rpm, self.step_s)
        self.state = [*core]
        for f in plant.functions:
            held = max((f.load + 3 * BAR * f.area_b) / f.area_a, 3 * BAR)
            self.state += [0.0, f.start, 0.0, held, 3 * BAR]

    def turn_screws(self, plant: Plant) -> None:
        """Go on with changed settings or faults: same functions in the same order."""
        self.plant = plant
        self._rates = rates_of(plant)

    def lever(self, name: str, value: float) -> None:
        """Move a lever, −1 to 1. Raises `KeyError` for a function that the machine has not."""
        self.demand.levers[self._index[name]] = max(-1.0, min(1.0, value))

    def advance(self, seconds: float) -> None:
        """Let time pass, in equal steps no longer than `step_s`."""
        if seconds <= 0:
            return
        count = max(1, ceil(seconds / self.step_s - 1e-6))
        h = seconds / count
        demand = self.demand
        demand.nu = self.plant.oil.viscosity(self.state[OIL])
        demand.active = active = self._active()
        state, seen = self.state, FUNCTIONS
        x = state[:FUNCTIONS]
        for k in active:
            x += state[FUNCTIONS + WIDTH * k : FUNCTIONS + WIDTH * (k + 1)]
        for _ in range(count):
            x = self._step(x, h)
        state = x[:FUNCTIONS] + state[FUNCTIONS:]
        for k in active:
            state[FUNCTIONS + WIDTH * k : FUNCTIONS + WIDTH * (k + 1)] = x[seen : seen + WIDTH]
            seen += WIDTH
        self.state = state
        self.time_s += seconds

    def _active(self) -> list[int]:
        active, x = [], self.state
        for k, lever in enumerate(self.demand.levers):
            at = FUNCTIONS + WIDTH * k
            if lever or abs(x[at]) > 1e-3 or abs(x[at + SPEED]) > 1e-3:
                active.append(k)
            elif x[at]:
                x[at] = x[at + SPEED] = 0.0  # at rest behind a shut spool
        return active

    def _step(self, x: list[float], h: float) -> list[float]:
        rates, demand = self._rates, self.demand
        slopes = Slopes(len(x))
        first = rates(x, demand, slopes)
        solve = _solver(slopes, _GAMMA * h)
        k1 = solve(first)
        second = rates([a + h * k for a, k in zip(x, k1, strict=True)], demand, Slopes(len(x)))
        k2 = solve([f - 2 * k for f, k in zip(second, k1, strict=True)])
        half = 0.5 * h
        return [a + half * (3 * k + m) for a, k, m in zip(x, k1, k2, strict=True)]

    def reading(self) -> Reading:
        """What the ports see now, without ripple."""
        x = self.state
        if self.plant.control_port is ControlPort.SERVO:
            span = SERVO_NONE - SERVO_FULL
            control = (x[P] * (SERVO_NONE - span * x[S]), x[P + 1] * (SERVO_NONE - span * x[S + 1]))
        else:
            at = SIGNAL if self.plant.control_port is ControlPort.SIGNAL else REGULATED
            control = (x[at], x[at + 1])
        return Reading(
            (x[P], x[P + 1]), control, max(x[PILOT], 0.0), max(x[TURN], 0.0) * 30 / pi, x[OIL]
        )


def _solver(slopes: Slopes, gh: float) -> Callable[[list[float]], list[float]]:
    """Solves (I − γh·J) k = f for the stiff part J: chambers first, then both pumps together."""
    pivots = [1 - gh * d for d in slopes.diagonal]
    m00, m11 = pivots[0], pivots[1]
    m01, m10 = -gh * slopes.across[0], -gh * slopes.across[1]
    drives = []
    for at, by0, by1, v0, v1 in slopes.drives:
        pivot = pivots[at]
        u0, u1, w0, w1 = gh * by0 / pivot, gh * by1 / pivot, gh * v0, gh * v1
        m00 -= u0 * w0
        m01 -= u0 * w1
        m10 -= u1 * w0
        m11 -= u1 * w1
        drives.append((at, pivot, u0, u1, w0, w1))
    over = 1 / (m00 * m11 - m01 * m10)

    def solve(f: list[float]) -> list[float]:
        k = [a / p for a, p in zip(f, pivots, strict=True)]
        r0, r1 = f[0], f[1]
        for at, _, u0, u1, _, _ in drives:
            r0 += u0 * f[at]
            r1 += u1 * f[at]
        k[0] = k0 = (r0 * m11 - r1 * m01) * over
        k[1] = k1 = (r1 * m00 - r0 * m10) * over
        for at, pivot, _, _, w0, w1 in drives:
            k[at] = (f[at] + w0 * k0 + w1 * k1) / pivot
        return k

    return solve


@lru_cache(maxsize=64)
def _settled(plant: Plant, rpm: float, step_s: float) -> tuple[float, ...]:
    """The state in neutral, settled, of a plant without functions."""
    cold = [0.0] * FUNCTIONS
    cold[TURN] = rpm * (1 - 0.1 * plant.engine.droop) * pi / 30
    cold[GOVERNOR] = plant.engine.friction_nm
    cold[PILOT] = plant.pilot.crack
    cold[P] = cold[P + 1] = 30 * BAR
    cold[SUM] = 60 * BAR
    cold[OIL] = plant.oil_celsius
    cold[S] = cold[S + 1] = 0.15
    for at in (SIGNAL, REGULATED):
        cold[at] = cold[at + 1] = RESIDUAL
    machine = Machine(plant, rpm, step_s, cold)
    machine.advance(_WARM_UP_S)
    machine.state[OIL] = plant.oil_celsius
    return tuple(machine.state)
