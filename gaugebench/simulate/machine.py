"""The machine that runs: its state moved on in fixed steps.

Steps are taken with the second-order Rosenbrock method ROS2 (Verwer, Spee, Blom and Hundsdorfer,
SIAM J. Sci. Comput. 20 (1999) 1456), which keeps its order with any stand-in for the Jacobian;
the diagonal is used, since it is the pressures' own stiffness that an explicit step cannot take.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, pi, sqrt

from gaugebench.model.role import ControlPort
from gaugebench.simulate.layout import (
    FUNCTIONS,
    GOVERNOR,
    OIL,
    PA,
    PB,
    PILOT,
    PLACE,
    RAIL,
    REGULATED,
    SIGNAL,
    SPEED,
    SUM,
    TURN,
    WIDTH,
    Demand,
    P,
    S,
)  # fmt: skip
from gaugebench.simulate.plant import BAR, Plant
from gaugebench.simulate.rates import rates_of
from gaugebench.simulate.valves import RESIDUAL

STEP_S = 5e-4
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
    """A machine at rest in neutral, engine at `rpm`, until it is told otherwise."""

    def __init__(self, plant: Plant, rpm: float | None = None, step_s: float = STEP_S) -> None:
        self.plant = plant
        self.step_s = step_s
        self._index = {f.name: k for k, f in enumerate(plant.functions)}
        self.demand = Demand([0.0] * len(plant.functions), rpm or plant.engine.high_idle)
        self.state = self._at_rest()
        self._rates = rates_of(plant)
        self._diagonal = [0.0] * len(self.state)
        self.advance(_WARM_UP_S)
        self.state[OIL] = plant.oil_celsius
        self.time_s = 0.0

    def _at_rest(self) -> list[float]:
        x = [0.0] * (FUNCTIONS + WIDTH * len(self.plant.functions))
        x[TURN] = self.demand.no_load_rpm * pi / 30
        x[GOVERNOR] = self.plant.engine.friction_nm
        x[PILOT] = self.plant.pilot.crack
        x[P] = x[P + 1] = x[RAIL] = 30 * BAR
        x[SUM] = 60 * BAR
        x[OIL] = self.plant.oil_celsius
        x[S] = x[S + 1] = 0.15
        x[SIGNAL] = x[SIGNAL + 1] = x[REGULATED] = x[REGULATED + 1] = RESIDUAL
        for k, f in enumerate(self.plant.functions):
            at = FUNCTIONS + WIDTH * k
            x[at + PLACE] = f.start
            x[at + PB] = 3 * BAR
            x[at + PA] = max((f.load + 3 * BAR * f.area_b) / f.area_a, 3 * BAR)
        self.time_s = 0.0
        return x

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
        for _ in range(count):
            x = self.state
            demand.active = self._active(x)
            self.state = self._step(x, h)
        self.time_s += seconds

    def _active(self, x: list[float]) -> list[int]:
        active = []
        for k, lever in enumerate(self.demand.levers):
            at = FUNCTIONS + WIDTH * k
            if lever or abs(x[at]) > 1e-3 or abs(x[at + SPEED]) > 1e-3:
                active.append(k)
            elif x[at]:
                x[at] = x[at + SPEED] = 0.0  # at rest behind a shut spool
        return active

    def _step(self, x: list[float], h: float) -> list[float]:
        diagonal, rates, demand = self._diagonal, self._rates, self.demand
        first = rates(x, demand, diagonal)
        shrink = [1 / (1 - _GAMMA * h * d) for d in diagonal]
        k1 = [f * s for f, s in zip(first, shrink, strict=True)]
        second = rates([a + h * k for a, k in zip(x, k1, strict=True)], demand, [0.0] * len(x))
        half = 0.5 * h
        return [
            a + half * (3 * k + (f - 2 * k) * s)
            for a, k, f, s in zip(x, k1, second, shrink, strict=True)
        ]

    def reading(self) -> Reading:
        """What the ports see now, without ripple."""
        x = self.state
        if self.plant.control_port is ControlPort.SERVO:
            span = SERVO_NONE - SERVO_FULL
            control = (x[P] * (SERVO_NONE - span * x[S]), x[P + 1] * (SERVO_NONE - span * x[S + 1]))
        else:
            at = SIGNAL if self.plant.control_port is ControlPort.SIGNAL else REGULATED
            control = (x[at], x[at + 1])
        return Reading((x[P], x[P + 1]), control, x[PILOT], x[TURN] * 30 / pi, x[OIL])
