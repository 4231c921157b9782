"""What the simulated machine is made of: plain numbers, in SI units, that can be changed.

The values stand for an invented 21-tonne tracked excavator. None is taken from a real machine;
where the trade has a usual range they lie inside it (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from math import inf

from gaugebench.model.role import ControlPort
from gaugebench.simulate.oil import Oil

BAR = 1e5
LITRE_A_MINUTE = 1e-3 / 60
CC = 1e-6


class Control(StrEnum):
    """How the levers tell a pump what to deliver."""

    NEGATIVE = "negative"
    """The flow through the centre bypass makes a pressure that de-strokes."""
    POSITIVE = "positive"
    """The lever's own pilot pressure strokes the pump up."""
    LOAD_SENSING = "load sensing"
    """The pump keeps a margin above the load's pressure; the valve has a closed centre."""


@dataclass(frozen=True, slots=True)
class Pump:
    """One axial-piston pump.

    displacement: m³ a turn at full stroke. leak: m³/s a Pa at 30 mm²/s. mechanical: efficiency of
    the torque. friction_nm: torque at no load. up_s, down_s: lags of the swash plate. gallery:
    line volume up to the valve, m³.
    """

    displacement: float = 110 * CC
    pistons: int = 9
    leak: float = 3.2e-12
    mechanical: float = 0.94
    friction_nm: float = 6.0
    up_s: float = 0.06
    down_s: float = 0.03
    gallery: float = 4.5e-3


@dataclass(frozen=True, slots=True)
class Relief:
    """A relief valve: opens at `crack`, passes `rated_flow` at crack × (1 + override).

    lag_s: of the opening, at 30 mm²/s. stick: share of crack by which it must be exceeded before a
    shut valve begins to open (a clean valve: 0). boost: share by which the second stage raises it.
    """

    crack: float = 330 * BAR
    override: float = 0.045
    rated_flow: float = 200 * LITRE_A_MINUTE
    lag_s: float = 0.003
    stick: float = 0.0
    boost: float = 0.07


DIRECT_ACTING = Relief(override=0.15, lag_s=0.0015)
"""Opens at once and rises more with flow (common practice: 10 to 25 %)."""


@dataclass(frozen=True, slots=True)
class CutOff:
    """De-strokes the pump over `band` from `start` upwards, Pa.

    lag_s, lead_s: of the spool and of its damping; the lead is what keeps it from hunting, and it
    is worth `most_pa` at the most, so that a slam does not de-stroke the pump before its time.
    """

    start: float = 308 * BAR
    band: float = 18 * BAR
    lag_s: float = 0.002
    lead_s: float = 0.018
    most_pa: float = 4 * BAR


@dataclass(frozen=True, slots=True)
class Stroking:
    """How a control pressure becomes stroke.

    none, full: Pa at stroke 0 and 1 (positive sense; a negative control turns them round).
    lag_s: from regulator to servo. signal_lag_s: of the line from the valve to the regulator.
    signal_share: what arrives of it (a leaking hose: below 1). neutral: stroke that the least-flow
    stop keeps (negative control). orifice: conductance of the orifice below the centre.
    sense_cap: of the small relief beside that orifice, Pa. margin, margin_band: load sensing.
    """

    none: float = 2 * BAR
    full: float = 29 * BAR
    lag_s: float = 0.003
    signal_lag_s: float = 0.015
    signal_share: float = 1.0
    neutral: float = 0.22
    orifice: float = 50 * LITRE_A_MINUTE / 1732.0508
    sense_cap: float = 45 * BAR
    margin: float = 16 * BAR
    margin_band: float = 12 * BAR


@dataclass(frozen=True, slots=True)
class Engine:
    """A diesel with a speed governor: rpm, N·m, kg·m²; droop as a share at `torque_nm`.

    backup: share by which full torque rises when the speed is pulled down by 30 %.
    """

    low_idle: float = 950.0
    high_idle: float = 2050.0
    droop: float = 0.05
    torque_nm: float = 640.0
    backup: float = 0.12
    inertia: float = 2.2
    lag_s: float = 0.06
    friction_nm: float = 60.0


@dataclass(frozen=True, slots=True)
class Pilot:
    """The pilot supply: a gear pump behind a relief of its own."""

    displacement: float = 10 * CC
    crack: float = 36 * BAR
    override: float = 0.10
    leak: float = 1.5e-11
    volume: float = 2.5e-3


class Motion(StrEnum):
    """What a function moves."""

    CYLINDER = "cylinder"
    MOTOR = "motor"


@dataclass(frozen=True, slots=True)
class Function:
    """One lever, its spool, and the actuator behind it.

    feeds: share of the spool's inlet opened to each pump. merge: the way (+1, −1) in which this
    lever opens the merge valve, or 0. area_a, area_b: m² (cylinder) or m³/rad (motor). low,
    stroke: ends of the travel, m or rad. mass: kg or kg·m². load: N or N·m that pushes against
    side A. friction: N or N·m. inlet, outlet: flow in m³/s at 1 Pa through the open spool.
    port_a, port_b: crack of the port reliefs, Pa; those of a motor cross over to the other side.
    fast: share of a motor's displacement in the high travel speed. leak: across a motor, m³/s a Pa
    at 30 mm²/s. dead: line volume of each side, m³. start: where it stands at first.
    """

    name: str
    motion: Motion = Motion.CYLINDER
    feeds: tuple[float, float] = (1.0, 0.0)
    merge: int = 0
    area_a: float = 0.0113
    area_b: float = 0.0057
    low: float = 0.0
    stroke: float = 1.2
    mass: float = 6000.0
    load: float = 1.0e4
    friction: float = 4.0e3
    inlet: float = 3.6e-6
    outlet: float = 3.6e-6
    port_a: float = 375 * BAR
    port_b: float = 375 * BAR
    fast: float = 1.0
    leak: float = 0.0
    dead: float = 3.0e-3
    start: float = 0.0

    def blocked(self) -> Function:
        """The same, held fast where it stands (a track against its stop)."""
        return replace(self, low=self.start - 0.02, stroke=self.start + 0.02)


def _motor(name: str, feeds: tuple[float, float]) -> Function:
    return Function(name, Motion.MOTOR, feeds, low=-inf, stroke=inf, load=0.0)


def standard_functions() -> tuple[Function, ...]:
    """Boom, arm, bucket, swing and both tracks of the invented excavator."""
    travel = replace(
        _motor("travel right", (1.0, 0.0)),
        area_a=2.7e-5, area_b=2.7e-5, mass=3.0, friction=230.0, port_a=385 * BAR,
        port_b=385 * BAR, fast=0.6, leak=1.0e-12, dead=1.5e-3,
    )  # fmt: skip
    return (
        Function("boom", merge=1, area_a=0.0226, area_b=0.0124, stroke=1.25, load=1.2e5),
        Function("arm", feeds=(0.0, 1.0), area_a=0.0133, area_b=0.0067, stroke=1.4, load=2e4),
        Function("bucket", area_a=0.0104, area_b=0.0053, stroke=1.05, mass=2500.0),
        replace(
            _motor("swing", (0.0, 1.0)),
            area_a=2.1e-5, area_b=2.1e-5, mass=8.0, friction=25.0, port_a=255 * BAR,
            port_b=255 * BAR, leak=2.0e-12, dead=1.2e-3,
        ),
        replace(travel, name="travel left", feeds=(0.0, 1.0)),
        travel,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Plant:
    """The whole machine. Two entries where there are two pumps.

    shared_relief: one main relief (the first) serves both pumps behind check valves.
    centre: flow in m³/s at 1 Pa through the open centre of a pump's valve group. foot_pa: back
    pressure below the centre (positive control). merge_flow, merge_lag_s: of the merge valve.
    torque_nm: what both pumps together may take. ambient, cooling and warmth set how the oil
    warms: °C, W/K, J/K.
    """

    control: Control = Control.POSITIVE
    control_port: ControlPort = ControlPort.REGULATED
    pumps: tuple[Pump, Pump] = (Pump(), Pump())
    reliefs: tuple[Relief, Relief] = (Relief(), Relief())
    shared_relief: bool = False
    cutoffs: tuple[CutOff, CutOff] = (CutOff(), CutOff())
    strokings: tuple[Stroking, Stroking] = (Stroking(), Stroking())
    torque_nm: float = 520.0
    torque_lag_s: float = 0.06
    engine: Engine = field(default_factory=Engine)
    pilot: Pilot = field(default_factory=Pilot)
    oil: Oil = field(default_factory=Oil)
    oil_celsius: float = 50.0
    ambient: float = 20.0
    cooling: float = 900.0
    warmth: float = 4.5e5
    functions: tuple[Function, ...] = field(default_factory=standard_functions)
    centre: float = 1.7e-6
    foot_pa: float = 22 * BAR
    merge_flow: float = 6.0e-6
    merge_lag_s: float = 0.04
    return_pa: float = 3 * BAR

    def function(self, name: str) -> Function:
        """The function of that name. Raises `KeyError` where there is none."""
        found = next((f for f in self.functions if f.name == name), None)
        if found is None:
            raise KeyError(f"the machine has no function “{name}”")
        return found

    def with_function(self, name: str, **changes: float) -> Plant:
        """The same with one function changed. Raises `KeyError` where there is none so named."""
        self.function(name)
        return replace(
            self,
            functions=tuple(
                replace(f, **changes) if f.name == name else f  # type: ignore[arg-type]
                for f in self.functions
            ),
        )


def standard_plant(control: Control = Control.POSITIVE) -> Plant:
    """The invented excavator with that kind of control.

    The swash plates of a negative control are slower: the loop through the bypass orifice would
    hunt otherwise.
    """
    if control is Control.NEGATIVE:
        slow = Pump(up_s=0.12, down_s=0.10)
        calm = Stroking(signal_lag_s=0.005)
        return Plant(control=control, pumps=(slow, slow), strokings=(calm, calm))
    return Plant(control=control)
