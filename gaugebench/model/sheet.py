"""The machine sheet: what a machine is, what is to be checked on it, in which bands.

Written by hand in TOML. Quantities carry their unit; a bare number is refused. Unknown keys are
refused, so that a slip of the pen is found. `gaugebench.procedure.sheet` reads it from a file and
names every fault with its key.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, TypeVar

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationInfo, field_validator

from gaugebench.errors import UnitError
from gaugebench.model.band import Band, parse_band
from gaugebench.model.role import ControlPort, Role
from gaugebench.model.terms import (
    ChangeKind,
    Engine,
    FunctionKind,
    Lever,
    Measures,
    ReliefKind,
    ScrewSense,
    Sense,
    Stage,
)
from gaugebench.quantity import Dimension, parse

SCHEMA = 1


_DIMENSIONS = {
    Measures.CYCLE: Dimension.TIME,
    Measures.FLOW: Dimension.FLOW,
    Measures.IMBALANCE: Dimension.RATIO,
    Measures.DROP: Dimension.SPEED,
    Measures.DEVIATION: Dimension.LENGTH,
}


Answer = TypeVar("Answer")


def _tell(call: Callable[..., Answer], *arguments: Any) -> Answer:
    """Call, with a `UnitError` made into the error that pydantic gathers."""
    try:
        return call(*arguments)
    except UnitError as fault:
        raise ValueError(str(fault)) from fault


def _quantity(dimension: Dimension) -> Any:
    def check(text: str) -> str:
        _tell(parse, text, dimension)
        return text

    return AfterValidator(check)


def _span(dimension: Dimension) -> Any:
    def check(text: str) -> str:
        _tell(parse_band, text, dimension)
        return text

    return AfterValidator(check)


Pressure = Annotated[str, _quantity(Dimension.PRESSURE)]
Length = Annotated[str, _quantity(Dimension.LENGTH)]
Volume = Annotated[str, _quantity(Dimension.VOLUME)]
Flow = Annotated[str, _quantity(Dimension.FLOW)]
Speed = Annotated[str, _quantity(Dimension.SPEED)]
Seconds = Annotated[str, _quantity(Dimension.TIME)]
Power = Annotated[str, _quantity(Dimension.POWER)]
Temperature = Annotated[str, _quantity(Dimension.TEMPERATURE)]
TemperatureBand = Annotated[str, _span(Dimension.TEMPERATURE)]
RatioBand = Annotated[str, _span(Dimension.RATIO)]
PressureBand = Annotated[str, _span(Dimension.PRESSURE)]
Name = Annotated[str, Field(min_length=1)]


HELD = frozenset({Measures.RELIEF, Measures.CUT_OFF, Measures.SETTLED, Measures.CONTROL})
"""Figures that are taken while a function stands against its stop."""


class Table(BaseModel):
    """Base of every table of a sheet."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


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


class Check(Table):
    """A `[[check]]` table."""

    key: Name
    title: Name
    stage: Stage
    figure: Measures
    measures: str
    function: str | None = None
    engine: Engine
    mode: str = ""
    lever: Lever = Lever.NEUTRAL
    stop: str = ""
    hold: Seconds = "5 s"
    oil: TemperatureBand | None = None
    band: str | None = None
    source: str = ""
    corrected: bool = False
    """A cycle time that may also be given at rated speed."""
    screws: tuple[Name, ...] = ()
    needs: tuple[Name, ...] = ()
    cautions: tuple[Name, ...] = ()

    @field_validator("measures")
    @classmethod
    def _role(cls, value: str) -> str:
        _tell(Role.parse, value)
        return value

    @field_validator("band")
    @classmethod
    def _band(cls, value: str | None, info: ValidationInfo) -> str | None:
        figure, role = info.data.get("figure"), info.data.get("measures")
        if value is not None and figure is not None and role is not None:
            _tell(parse_band, value, figure_dimension(figure, Role(role)))
        return value

    @property
    def role(self) -> Role:
        """The role it measures."""
        return Role(self.measures)

    @property
    def dimension(self) -> Dimension:
        """What kind of quantity its figure is."""
        return figure_dimension(self.figure, self.role)

    @property
    def limits(self) -> Band | None:
        """Its band, or None where the sheet gives none."""
        return None if self.band is None else parse_band(self.band, self.dimension)

    @property
    def loads(self) -> bool:
        """Whether it needs a function driven against its stop."""
        return self.figure in HELD


class Travel(Table):
    """The `[travel]` table. The limit has no default: the sheet or the user states it."""

    distance: Length = "20 m"
    limit: Length | None = None
    source: str = ""


class Balance(Table):
    """The `[balance]` table: how far two pumps may differ, each with the sheet's own source."""

    separate: RatioBand | None = None
    shared: RatioBand | None = None
    travel: RatioBand | None = None
    source: str = ""


class Stall(Table):
    """The `[stall]` table: how long oil may go over a relief (common practice where left out)."""

    usual: Seconds = "5 s"
    never: Seconds = "10 s"
    rest: Seconds = "30 s"
    tank_stop: Temperature = "80 °C"


class Sheet(Table):
    """A whole sheet."""

    schema_version: int = Field(alias="schema", ge=1, le=SCHEMA)
    invented: bool = False
    """True where the machine does not exist: demonstrations and practice."""
    machine: Machine
    pump: tuple[Pump, ...] = Field(min_length=1)
    relief: tuple[Relief, ...] = ()
    function: tuple[Function, ...] = ()
    screw: tuple[Screw, ...] = ()
    change: tuple[Change, ...] = ()
    check: tuple[Check, ...] = Field(min_length=1)
    travel: Travel = Travel()
    balance: Balance = Balance()
    stall: Stall = Stall()
    cautions: tuple[Name, ...] = ()

    def find_check(self, key: str) -> Check | None:
        """The check of that key."""
        return next((c for c in self.check if c.key == key), None)

    def find_function(self, name: str | None) -> Function | None:
        """The function of that name."""
        return next((f for f in self.function if f.name == name), None)

    def find_relief(self, name: str | None) -> Relief | None:
        """The relief of that name."""
        return next((r for r in self.relief if r.name == name), None)

    def find_screw(self, name: str) -> Screw | None:
        """The screw of that name."""
        return next((s for s in self.screw if s.name == name), None)

    def find_change(self, key: str) -> Change | None:
        """The temporary change of that key."""
        return next((c for c in self.change if c.key == key), None)


def figure_dimension(figure: Measures, role: Role) -> Dimension:
    """What kind of quantity a figure taken from a role is."""
    return _DIMENSIONS.get(figure, role.dimension)
