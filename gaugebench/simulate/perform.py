"""A script being carried out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, pi
from threading import Lock

from gaugebench.simulate.faults import with_faults
from gaugebench.simulate.layout import FUNCTIONS, PLACE, TURN, WIDTH, P, S
from gaugebench.simulate.machine import Machine, Reading
from gaugebench.simulate.moves import Script, Switch, Turn
from gaugebench.simulate.plant import Plant
from gaugebench.simulate.ripple import Ripple
from gaugebench.simulate.screws import setting, turn

CONTROL_S = 0.001
"""Levers are set this often."""
_OUT_OF_STEP = 0.11
"""The second pump's shaft is geared a little out of step with the first, rad."""


_FALLS_S, _RISES_S = 0.5, 0.4
"""How fast pressures fall once the engine is off, and come up when it starts (lags)."""
SWITCHES = ("engine", "cut-off", "boost", "travel speed")


@dataclass(frozen=True, slots=True)
class Pin:
    """A swing or travel drive held fast where it stands, or let free again."""

    function: str
    is_held: bool


class Hands:
    """Levers, switches and screws worked by hand while the machine runs; safe from any thread.

    plant: whose levers and screws they are; only its functions' names matter.
    """

    def __init__(self, plant: Plant | None = None) -> None:
        self._plant = plant or Plant()
        self._lock = Lock()
        self._levers: dict[str, float] = {}
        self._deeds: list[Switch | Turn | Pin] = []

    def lever(self, function: str, value: float) -> None:
        """Hold a lever at −1 to 1; 0 lets go, and the script's own moves count again.

        Raises `KeyError` where the machine has no such function.
        """
        self._plant.function(function)
        with self._lock:
            self._levers[function] = value

    def switch(self, what: str, value: float) -> None:
        """Set a switch at once; see `Switch`. Raises `ValueError` where there is none so named."""
        check_switch(what)
        with self._lock:
            self._deeds.append(Switch(what, 0.0, value))

    def turn(self, screw: str, turns: float) -> None:
        """Turn a screw at once; see `screws.SCREWS`. Raises `KeyError` where there is none."""
        setting(self._plant, screw)
        with self._lock:
            self._deeds.append(Turn(screw, 0.0, turns))

    def pin(self, function: str, *, is_held: bool) -> None:
        """Hold a drive fast where it stands, as a sprocket pin does, or free it.

        Raises `KeyError` where the machine has no such function.
        """
        self._plant.function(function)
        with self._lock:
            self._deeds.append(Pin(function, is_held))

    def let_go(self) -> None:
        """All levers to neutral; what was not yet carried out is forgotten."""
        with self._lock:
            self._levers, self._deeds = {}, []

    def take(self) -> tuple[dict[str, float], list[Switch | Turn | Pin]]:
        """The levers as they stand, and what was done since the last call."""
        with self._lock:
            deeds, self._deeds = self._deeds, []
            return {k: v for k, v in self._levers.items() if v}, deeds


def check_switch(what: str) -> None:
    """Raise `ValueError` where the machine has no such switch."""
    if what not in SWITCHES:
        raise ValueError(f"the machine has no switch “{what}”")


class Performance:
    """Carries out a script; asked for what the ports see at later and later instants.

    Raises `ValueError` or `KeyError` at once where the script asks for what the machine has not.
    """

    def __init__(self, script: Script, hands: Hands | None = None) -> None:
        self.script, self.hands = script, hands
        self.plant, self.rigging = with_faults(script)
        self.machine = Machine(self.plant, script.engine_rpm or None)
        self.is_off = script.engine_rpm == 0
        """Whether the engine stands: nothing moves, and the pressures fall away."""
        self._share = 0.0 if self.is_off else 1.0
        self._ripples = [Ripple(p.pistons, self.plant.oil.stiffness_pa) for p in self.plant.pumps]
        self._angle = 0.0
        deeds: list[Switch | Turn] = [*script.switches, *script.turns]
        self._deeds = sorted(deeds, key=lambda deed: deed.at_s)
        self._pushed: list[str] = []
        unknown = {m.function for m in script.moves} - {f.name for f in self.plant.functions}
        if unknown:
            raise ValueError(f"the machine has no function “{min(unknown)}”")
        for switch in script.switches:
            check_switch(switch.what)
        for deed in script.turns:
            setting(self.plant, deed.screw)

    def go_to(self, time_s: float) -> None:
        """Let the machine run up to `time_s`, which never goes back."""
        while self.machine.time_s < time_s - 1e-9:
            self._act(self.machine.time_s)
            machine = self.machine
            step = min(CONTROL_S, time_s - machine.time_s)
            self._spin(step)
            if self.is_off:
                machine.time_s += step
                continue
            before = machine.state[TURN]
            machine.advance(step)
            self._angle = (self._angle + 0.5 * (before + machine.state[TURN]) * step) % (2 * pi)

    def at(self, time_s: float) -> Reading:
        """What the ports see at `time_s`: with ripple, without the kit."""
        self.go_to(time_s)
        reading, x = self.machine.reading(), self.machine.state
        mains = [0.0, 0.0]
        for i in (0, 1):
            flow = x[S + i] * self.plant.pumps[i].displacement * x[TURN] / (2 * pi)
            angle = self._angle + i * _OUT_OF_STEP
            mains[i] = x[P + i] + self._ripples[i].at(angle, x[TURN], flow, x[P + i])
        if self._share == 1.0:
            return replace(reading, main=(mains[0], mains[1]))
        share, control = self._share, reading.control
        return replace(
            reading,
            main=(mains[0] * share, mains[1] * share),
            control=(control[0] * share, control[1] * share),
            pilot=reading.pilot * share,
            rpm=reading.rpm * share,
        )

    def _act(self, time_s: float) -> None:
        by_hand: dict[str, float] = {}
        if self.hands is not None:
            by_hand, deeds = self.hands.take()
            for deed in deeds:
                self._do(deed)
        while self._deeds and self._deeds[0].at_s <= time_s + 1e-9:
            self._do(self._deeds.pop(0))
        wanted = dict.fromkeys(self._pushed, 0.0)
        for move in self.script.moves:
            if move.start_s < time_s < move.end_s:
                value = move.at(time_s)
                if abs(value) >= abs(wanted.get(move.function, 0.0)):
                    wanted[move.function] = value
        wanted |= by_hand
        for name, value in wanted.items():
            self.machine.lever(name, value)
        self._pushed = [name for name, value in wanted.items() if value]

    def _spin(self, step: float) -> None:
        """Let the pressures follow an engine that was stopped or started.

        A plain lag: cranking and how a machine bleeds down are not modelled.
        """
        if self.is_off:
            self._share *= exp(-step / _FALLS_S)
        elif self._share < 1.0:
            self._share = min(1.0, 1.0001 - (1.0001 - self._share) * exp(-step / _RISES_S))

    def _engine(self, rpm: float) -> None:
        if rpm > 0 and self.is_off:
            # Started anew in neutral, with every function where it stood.
            fresh = Machine(self.plant, rpm)
            fresh.time_s, fresh.demand.cut_off = self.machine.time_s, self.machine.demand.cut_off
            fresh.demand.boost, fresh.demand.fast = (
                self.machine.demand.boost, self.machine.demand.fast,
            )  # fmt: skip
            for k in range(len(self.plant.functions)):
                at = FUNCTIONS + WIDTH * k + PLACE
                fresh.state[at] = self.machine.state[at]
            self.machine = fresh
        self.is_off = rpm <= 0
        if rpm > 0:
            self.machine.demand.no_load_rpm = rpm

    def _pin(self, pin: Pin) -> None:
        k = [f.name for f in self.plant.functions].index(pin.function)
        place = self.machine.state[FUNCTIONS + WIDTH * k + PLACE]
        usual = self.script.plant.function(pin.function)
        held = replace(usual, start=place).blocked()
        end = held if pin.is_held else usual
        self.plant = self.plant.with_function(pin.function, low=end.low, stroke=end.stroke)
        self.machine.turn_screws(self.plant)

    def _do(self, deed: Switch | Turn | Pin) -> None:
        demand = self.machine.demand
        if isinstance(deed, Pin):
            self._pin(deed)
        elif isinstance(deed, Turn):
            self.plant = turn(self.plant, deed.screw, deed.turns)
            self.machine.turn_screws(self.plant)
        elif deed.what == "engine":
            self._engine(deed.value)
        elif deed.what == "cut-off":
            demand.cut_off = deed.value > 0
        elif deed.what == "boost":
            demand.boost = deed.value > 0
        else:
            demand.fast = deed.value > 0
