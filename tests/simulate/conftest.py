"""Machines brought to where a test wants them."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from gaugebench.simulate.machine import Machine, Reading
from gaugebench.simulate.plant import Plant

Hold = Callable[..., Machine]


@pytest.fixture
def hold() -> Hold:
    """`hold(plant, bucket=1, arm=1, seconds=2, cut_off=False)`: a machine with levers held."""

    def run(
        plant: Plant, seconds: float = 1.5, *, cut_off: bool = True, **levers: float
    ) -> Machine:
        machine = Machine(plant)
        machine.demand.cut_off = cut_off
        for name, value in levers.items():
            machine.lever(name.replace("_", " "), value)
        machine.advance(seconds)
        return machine

    return run


@pytest.fixture
def watch() -> Callable[[Machine, float], list[Reading]]:
    """`watch(machine, seconds)`: its readings every millisecond."""

    def run(machine: Machine, seconds: float) -> list[Reading]:
        readings = []
        for _ in np.arange(0, seconds, 1e-3):
            machine.advance(1e-3)
            readings.append(machine.reading())
        return readings

    return run
