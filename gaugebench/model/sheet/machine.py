"""Tables of a sheet that say what the machine is."""

from __future__ import annotations

from pydantic import Field

from gaugebench.model.role import ControlPort
from gaugebench.model.sheet.quantities import (
    Flow,
    Length,
    Name,
    Power,
    PressureBand,
    Speed,
    Table,
    TemperatureBand,
    Volume,
)
from gaugebench.model.terms import ChangeKind, FunctionKind, ReliefKind, ScrewSense, Sense


class Machine(Table):
    """The `[machine]` table."""

    name: Name
    kind: str = Field(default="", alias="class")
    control: Sense
    control_port: ControlPort = ControlPort.UNKNOWN
    rated_speed: Speed | None = None
    governor: str = ""
    power: Power | None = None
    """The engine's rated power with its unit, for what a fault costs."""
    oil: TemperatureBand = "45 °C to 55 °C"
    modes: tuple[Name, ...] = ()
    all_functions: bool = False
    """True where every function that can load a pump is listed; else no check fills itself in."""


class Pump(Table):
    """A `[[pump]]` table."""

    number: int = Field(ge=1, le=99)
    displacement: Volume | None = None
    pistons: int | None = Field(default=None, ge=1, le=30)
    drive_ratio: float = Field(default=1.0, gt=0)
    """Pump turns for one engine turn."""


class Relief(Table):
    """A `[[relief]]` table."""

    name: Name
    kind: ReliefKind
    shared: bool = False
    """True where one valve guards several pumps."""
    stated_flow: Flow | None = None
    """The flow that its set pressure is given for."""


class Cylinder(Table):
    """The `[function.cylinder]` table; `fills`: which side the stroke fills."""

    bore: Length
    rod: Length
    stroke: Length
    count: int = Field(default=1, ge=1, le=8)
    fills: str = Field(default="bore", pattern="^(bore|rod)$")


class Function(Table):
    """A `[[function]]` table."""

    name: Name
    kind: FunctionKind = FunctionKind.CYLINDER
    pumps: tuple[int, ...] = Field(min_length=1)
    merged: bool = False
    """Both pumps' oil joins: equal pressures then say nothing of the pumps."""
    relief: Name
    port_relief: str | None = None
    regeneration: bool = False
    stall: bool = True
    """False where stalling it needs more than the lever, as a boom lowered against the ground."""
    blocking: str = ""
    """How the sheet says a travel drive is held; without it no travel stall is prompted."""
    cylinder: Cylinder | None = None


class Screw(Table):
    """A `[[screw]]` table."""

    name: Name
    sense: ScrewSense = Field(alias="in")
    turns_in: float = Field(ge=0)
    """Turns available inwards from where it stands."""
    turns_out: float = Field(ge=0)
    lock_nut: bool = True
    per_turn: PressureBand | None = None
    """Pressure for one turn and its tolerance, for example `180 bar ± 60 bar`."""
    raises_relief: bool = True


class Change(Table):
    """A `[[change]]` table: something altered for a check, to be put back and read again."""

    key: Name
    kind: ChangeKind
    does: Name
    undo: Name
    read_again: tuple[Name, ...] = Field(min_length=1)
