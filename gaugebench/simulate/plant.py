"""What the simulated machine is made of: plain numbers, in SI units, that can be changed.

The values stand for an invented 20-tonne tracked excavator. None is taken from a real machine;
where the trade has a usual range (see the tests) they lie inside it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

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

    displacement: m³ a turn at full stroke. leak: m³/s a Pa at 30 mm²/s. friction_nm: torque at no
    load. up_s, down_s: lags of the swash plate. gallery: line volume to the valve, m³.
    """

    displacement: float = 110 * CC
    pistons: int = 9
    leak: float = 3.2e-12
    mechanical: float = 0.94
    friction_nm: float = 6.0
    up_s: float = 0.06
    down_s: float = 0.03
    least_stroke: float = 0.0
    gallery: float = 4.5e-3


@dataclass(frozen=True, slots=True)
class Relief:
    """A relief valve: opens at `crack`, passes `rated_flow` at crack × (1 + override).

    lag_s: of the opening. stick: share of crack by which it must be exceeded to open, and fall
    short to close again (a clean valve: 0).
    """

    crack: float = 330 * BAR
    override: float = 0.045
    rated_flow: float = 200 * LITRE_A_MINUTE
    lag_s: float = 0.003
    stick: float = 0.0


@dataclass(frozen=True, slots=True)
class CutOff:
    """De-strokes the pump over `band` from `start` upwards, Pa."""

    start: float = 308 * BAR
    band: float = 18 * BAR
    lag_s: float = 0.002
    lead_s: float = 0.018


@dataclass(frozen=True, slots=True)
class Stroking:
    """How a control pressure becomes stroke: `none` gives stroke 0, `full` gives stroke 1, Pa."""

    none: float = 2 * BAR
    full: float = 29 * BAR
    lag_s: float = 0.003


@dataclass(frozen=True, slots=True)
class Engine:
    """A diesel with a speed governor: rpm, N·m, kg·m²; droop as a share at `torque_nm`."""

    low_idle: float = 950.0
    high_idle: float = 2050.0
    droop: float = 0.05
    torque_nm: float = 640.0
    inertia: float = 2.2
    lag_s: float = 0.06
    friction_nm: float = 35.0


@dataclass(frozen=True, slots=True)
class Pilot:
    """The pilot supply: a gear pump behind a relief of its own."""

    displacement: float = 10 * CC
    crack: float = 36 * BAR
    override: float = 0.10
    leak: float = 1.5e-11
    volume: float = 0.6e-3


class Motion(StrEnum):
    """What a function moves."""

    CYLINDER = "cylinder"
    MOTOR = "motor"


@dataclass(frozen=True, slots=True)
class Function:
    """One lever, its spool, and the actuator behind it.

    feeds: share of the spool's inlet opened to each pump. area_a, area_b: m² (cylinder) or m³/rad
    (motor). stroke: m or rad. mass: kg or kg·m². load: N or N·m pushing against side A.
    inlet, outlet: flow in m³/s at 1 Pa through the fully open spool. port_a, port_b: crack of the
    port reliefs, Pa. start: share of the stroke at which it begins.
    """

    name: str
    motion: Motion = Motion.CYLINDER
    feeds: tuple[float, float] = (1.0, 0.0)
    area_a: float = 0.0113
    area_b: float = 0.0057
    stroke: float = 1.2
    mass: float = 6000.0
    load: float = 6.0e4
    friction: float = 4.0e3
    inlet: float = 3.6e-6
    outlet: float = 3.6e-6
    port_a: float = 375 * BAR
    port_b: float = 375 * BAR
    dead: float = 3.0e-3
    start: float = 0.0


def _functions() -> tuple[Function, ...]:
    return (
        Function("boom", feeds=(1.0, 1.0), area_a=0.0226, area_b=0.0124, stroke=1.25, load=1.2e5),
        Function("arm", feeds=(0.0, 1.0), area_a=0.0133, area_b=0.0067, stroke=1.4, load=2e4),
        Function("bucket", feeds=(1.0, 0.0), area_a=0.0104, area_b=0.0053, stroke=1.05, load=1e4,
                 mass=2500.0),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Plant:
    """The whole machine. Two entries where there are two pumps."""

    control: Control = Control.POSITIVE
    control_port: ControlPort = ControlPort.REGULATED
    pumps: tuple[Pump, Pump] = (Pump(), Pump())
    reliefs: tuple[Relief, Relief] = (Relief(), Relief())
    cutoffs: tuple[CutOff, CutOff] = (CutOff(), CutOff())
    strokings: tuple[Stroking, Stroking] = (Stroking(), Stroking())
    torque_nm: float = 560.0
    torque_lag_s: float = 0.06
    engine: Engine = field(default_factory=Engine)
    pilot: Pilot = field(default_factory=Pilot)
    oil: Oil = field(default_factory=Oil)
    oil_celsius: float = 50.0
    functions: tuple[Function, ...] = field(default_factory=_functions)
    centre: float = 1.7e-6
    """Flow in m³/s at 1 Pa through the open centre of a pump's valve group."""
    foot_pa: float = 22 * BAR
    """Back-pressure valve behind the centre (positive control)."""
    return_pa: float = 3 * BAR
