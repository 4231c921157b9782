"""What the machine did, millisecond by millisecond, without ripple, noise or kit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import pi

import numpy as np

from gaugebench.model.arrays import F64
from gaugebench.model.role import ControlPort
from gaugebench.simulate.layout import (
    FELT,
    FUNCTIONS,
    PA,
    PB,
    PLACE,
    REGULATED,
    RELIEF,
    SIGNAL,
    SPEED,
    SPOOL,
    SUM,
    TURN,
    WIDTH,
    P,
    S,
)  # fmt: skip
from gaugebench.simulate.machine import SERVO_FULL, SERVO_NONE, Machine
from gaugebench.simulate.plant import Plant
from gaugebench.simulate.valves import PORT_SLOPE

TICK_S = 1e-3


@dataclass(slots=True)
class History:
    """Ticks of `TICK_S`. states: shape (n, state). levers: shape (n, functions).

    plants: the plant of each tick, as an index into `variants`. cut_off, boost: shape (n,).
    """

    states: F64
    levers: F64
    cut_off: F64
    boost: F64
    plants: F64
    variants: list[Plant] = field(default_factory=list)
    count: int = 0

    @staticmethod
    def of(machine: Machine, duration_s: float) -> History:
        """An empty history with room for so many seconds."""
        n = int(duration_s / TICK_S) + 2
        return History(
            np.zeros((n, len(machine.state))),
            np.zeros((n, len(machine.demand.levers))),
            np.zeros(n),
            np.zeros(n),
            np.zeros(n),
        )

    def note(self, machine: Machine) -> None:
        """Keep the machine as it stands now."""
        k, demand = self.count, machine.demand
        self.states[k] = machine.state
        self.levers[k] = demand.levers
        self.cut_off[k], self.boost[k] = demand.cut_off, demand.boost
        if not self.variants or self.variants[-1] is not machine.plant:
            self.variants.append(machine.plant)
        self.plants[k] = len(self.variants) - 1
        self.count += 1

    @property
    def times(self) -> F64:
        """Seconds, shape (n,)."""
        return np.arange(self.count, dtype=np.float64) * TICK_S

    def column(self, index: int) -> F64:
        """One entry of the state, shape (n,)."""
        return self.states[: self.count, index]

    def main(self, pump: int) -> F64:
        """Main pressure of a pump (0 or 1), Pa."""
        return self.column(P + pump)

    def control(self, pump: int) -> F64:
        """Pressure at the control port of a pump, Pa."""
        port = self.variants[0].control_port
        if port is ControlPort.SERVO:
            share = SERVO_NONE - (SERVO_NONE - SERVO_FULL) * self.column(S + pump)
            return np.asarray(self.main(pump) * share)
        return self.column((SIGNAL if port is ControlPort.SIGNAL else REGULATED) + pump)

    def setting(self, pick: str, pump: int, name: str) -> F64:
        """A setting of a pump's part at every tick, for example `reliefs`, 0, `crack`."""
        return self._of_variant([getattr(getattr(v, pick)[pump], name) for v in self.variants])

    def _of_variant(self, values: Sequence[float]) -> F64:
        """What belongs to each plant, at every tick."""
        return np.asarray(np.array(values)[self.plants[: self.count].astype(int)])

    def crack(self, pump: int) -> F64:
        """Pressure at which the pump's main relief begins to pass oil, Pa, shape (n,)."""
        index = 0 if self.variants[0].shared_relief else pump
        boost = self.setting("reliefs", index, "boost") * self.boost[: self.count]
        stick = self.setting("reliefs", index, "stick")
        return np.asarray(self.setting("reliefs", index, "crack") * (1 + boost) * (1 + stick))

    def over_relief(self, pump: int) -> F64:
        """Flow over the pump's main relief, m³/s (all of it where the relief is shared)."""
        shared = self.variants[0].shared_relief
        index = 0 if shared else pump
        relief = self.variants[0].reliefs[index]
        full = self.setting("reliefs", index, "crack") * (1 + relief.override)
        pressure = np.maximum(self.main(0), self.main(1)) if shared else self.main(pump)
        root = np.sqrt(np.maximum(pressure, 0.0) / full)
        return np.asarray(relief.rated_flow * self.column(RELIEF + index) * root)

    def over_ports(self, pump: int) -> F64:
        """Flow over port reliefs of the functions that the pump feeds, m³/s."""
        total = np.zeros(self.count)
        for k, f in enumerate(self.variants[0].functions):
            if f.feeds[pump]:
                at = FUNCTIONS + WIDTH * k
                for side, name in ((PA, "port_a"), (PB, "port_b")):
                    crack = self._of_variant([getattr(v.functions[k], name) for v in self.variants])
                    total += np.maximum(self.column(at + side) - crack, 0.0) * PORT_SLOPE
        return total

    def allowed_by_cut_off(self, pump: int) -> F64:
        """Stroke that the cut-off allows, 1 where it does not act, shape (n,)."""
        start = self.setting("cutoffs", pump, "start")
        band = self.setting("cutoffs", pump, "band")
        cut = self.variants[0].cutoffs[pump]
        ahead = cut.lead_s * (self.main(pump) - self.column(FELT + pump)) / cut.lag_s
        leading = self.main(pump) + np.clip(ahead, -cut.most_pa, cut.most_pa)
        allowed = np.clip(1 - (leading - start) / band, 0.0, 1.0)
        return np.where(self.cut_off[: self.count] > 0, allowed, 1.0)

    def allowed_by_torque(self, pump: int) -> F64:
        """Stroke that the torque limit allows, shape (n,)."""
        torque = self._of_variant([v.torque_nm for v in self.variants])
        product = torque * 2 * pi / self.variants[0].pumps[pump].displacement
        return np.asarray(np.minimum(1.0, product / np.maximum(self.column(SUM), 1.0)))

    def delivered(self, pump: int) -> F64:
        """Flow of a pump, m³/s, shape (n,)."""
        size = self.variants[0].pumps[pump].displacement / (2 * pi)
        return np.asarray(self.column(S + pump) * size * self.column(TURN))

    def spool(self, function: int) -> F64:
        """Spool position, −1 to 1, shape (n,)."""
        return self.column(FUNCTIONS + WIDTH * function + SPOOL)

    def place(self, function: int) -> F64:
        """Where the actuator stands, m or rad, shape (n,)."""
        return self.column(FUNCTIONS + WIDTH * function + PLACE)

    def speed(self, function: int) -> F64:
        """How fast the actuator moves, m/s or rad/s, shape (n,)."""
        return self.column(FUNCTIONS + WIDTH * function + SPEED)
