"""What the operator does, when: lever moves and switches, and the machine that follows them."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import pi

from gaugebench.simulate.machine import Machine, Reading
from gaugebench.simulate.plant import Plant
from gaugebench.simulate.rates import TURN, P, S
from gaugebench.simulate.ripple import Ripple

CONTROL_S = 0.005
"""Levers are set this often."""


@dataclass(frozen=True, slots=True)
class Move:
    """One lever: pushed to `value` (−1 to 1) over `rise_s`, held, let go over `fall_s`.

    start_s: when it leaves neutral. hold_s: from the end of the push to the start of the return.
    """

    function: str
    start_s: float
    hold_s: float
    value: float = 1.0
    rise_s: float = 0.15
    fall_s: float = 0.15

    def at(self, time_s: float) -> float:
        """Where the lever stands."""
        after = time_s - self.start_s
        if after <= 0:
            return 0.0
        if after < self.rise_s:
            return self.value * after / self.rise_s
        after -= self.rise_s + self.hold_s
        if after <= 0:
            return self.value
        return self.value * max(0.0, 1 - after / self.fall_s)


@dataclass(frozen=True, slots=True)
class Switch:
    """A switch of the cab. `what`: `cut-off` (1 in service, 0 cancelled) or `engine` (rpm)."""

    what: str
    at_s: float
    value: float


@dataclass(frozen=True, slots=True)
class Script:
    """A machine, and what is done with it."""

    duration_s: float
    moves: tuple[Move, ...] = ()
    switches: tuple[Switch, ...] = ()
    plant: Plant = field(default_factory=Plant)
    engine_rpm: float | None = None


class Performance:
    """A script being carried out; asked for what the ports see at later and later instants."""

    def __init__(self, script: Script) -> None:
        self.script = script
        self.machine = Machine(script.plant, script.engine_rpm)
        stiffness = script.plant.oil.stiffness_pa
        self._ripples = [Ripple(p.pistons, stiffness) for p in script.plant.pumps]
        self._angle = 0.0
        self._switches = sorted(script.switches, key=lambda s: s.at_s)
        self._moving = {move.function for move in script.moves}

    def at(self, time_s: float) -> Reading:
        """What the ports see at `time_s`, which never goes back. Ripple is in, the kit is not."""
        machine = self.machine
        while machine.time_s < time_s - 1e-9:
            self._set(machine.time_s)
            step = min(CONTROL_S, time_s - machine.time_s)
            before = machine.state[TURN]
            machine.advance(step)
            self._angle += 0.5 * (before + machine.state[TURN]) * step
            self._angle %= 2 * pi
        reading, x = machine.reading(), machine.state
        mains = []
        for i in (0, 1):
            turn, pump = x[TURN], self.script.plant.pumps[i]
            flow = x[S + i] * pump.displacement * turn / (2 * pi)
            # The second pump's shaft is geared a little out of step with the first.
            angle = self._angle + i * 0.11
            mains.append(reading.main[i] + self._ripples[i].at(angle, turn, flow, x[P + i]))
        return Reading(
            (mains[0], mains[1]), reading.control, reading.pilot, reading.rpm, reading.celsius
        )

    def _set(self, time_s: float) -> None:
        while self._switches and self._switches[0].at_s <= time_s:
            switch = self._switches.pop(0)
            if switch.what == "cut-off":
                self.machine.demand.cut_off = switch.value > 0
            elif switch.what == "engine":
                self.machine.demand.no_load_rpm = switch.value
            else:
                raise ValueError(f"the machine has no switch “{switch.what}”")
        for name in self._moving:
            values = [m.at(time_s) for m in self.script.moves if m.function == name]
            self.machine.lever(name, max(values, key=abs))
