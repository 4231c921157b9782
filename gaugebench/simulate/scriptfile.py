"""Scripts written by hand in TOML.

Pressures carry their unit; times are in seconds, as the keys say. Unknown keys are refused.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from gaugebench.errors import ScriptError, UnitError
from gaugebench.model.role import ControlPort
from gaugebench.model.schema import newer
from gaugebench.model.trace import Particulars
from gaugebench.quantity import Dimension, parse
from gaugebench.simulate.faults import with_faults
from gaugebench.simulate.moves import FaultOn, Move, Script, Switch, Turn
from gaugebench.simulate.oil import Oil
from gaugebench.simulate.plant import Control, Plant, standard_plant
from gaugebench.simulate.rig import STANDARD, drawn
from gaugebench.simulate.screws import set_to, turn

SCHEMA = 1


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class MachineTable(_Strict):
    """`[machine]`: the kind of circuit, and how it is set. `set`: screw → pressure or torque."""

    control: Control = Control.POSITIVE
    control_port: ControlPort = ControlPort.REGULATED
    shared_relief: bool = False
    engine: str | None = None
    oil: str = "50 °C"
    grade: Literal[32, 46, 68, 100] = 46
    pistons: int = Field(9, ge=5, le=13)
    set: dict[str, str] = Field(default_factory=dict)
    start: dict[str, float] = Field(default_factory=dict)
    """Function → where it stands at first, as a share of its stroke, 0 to 1."""
    load: dict[str, float] = Field(default_factory=dict)
    """Function → force against side A, N."""
    blocked: tuple[str, ...] = ()


class KitTable(_Strict):
    """`[kit]`: the kit's rate and converter."""

    rate_hz: float = Field(200.0, ge=10, le=2000)
    bits: int = Field(14, ge=8, le=24)
    noise: float = Field(1.0, ge=0, le=50)
    """How many times the usual noise."""
    lag_s: float = Field(0.001, gt=0, le=1)
    main_range: str = "600 bar"
    control_range: str = "60 bar"
    """Upper ends of the transducers on the pumps' outlets and control ports; noise is in
    proportion. That of the pilot stays at 60 bar."""
    accuracy_pct_fs: float = Field(0.5, gt=0, le=10)
    draw_errors: bool = False
    """Whether each transducer has errors of its own, drawn from its class by the seed."""
    seed: int = Field(1, ge=0)


class MoveTable(_Strict):
    """`[[move]]`: one lever."""

    lever: str
    at_s: float = Field(ge=0)
    hold_s: float = Field(ge=0)
    value: float = Field(1.0, ge=-1, le=1)
    rise_s: float = Field(0.15, gt=0)
    fall_s: float = Field(0.15, gt=0)


class SwitchTable(_Strict):
    """`[[switch]]`: a switch of the cab."""

    what: Literal["engine", "cut-off", "boost", "travel speed"]
    at_s: float = Field(ge=0)
    value: float | str


class TurnTable(_Strict):
    """`[[turn]]`: a screw."""

    screw: str
    at_s: float = Field(ge=0)
    turns: float = Field(ge=-10, le=10)


class FaultTable(_Strict):
    """`[[fault]]`: see `faults.FAULTS`."""

    name: str
    severity: float = Field(1.0, ge=0, le=1)
    where: str | int = "1"


class ParticularsTable(_Strict):
    """`[particulars]`: whose machine it is said to be; invented."""

    machine: str = ""
    serial: str = ""
    hour_meter_h: float | None = None
    site: str = ""
    technician: str = ""
    customer: str = ""
    job: str = ""
    notes: str = ""


class ScriptTable(_Strict):
    """A whole script."""

    schema_version: int = Field(default=SCHEMA, alias="schema", ge=1, le=SCHEMA)
    duration_s: float = Field(gt=0, le=3600)
    machine: MachineTable = MachineTable()
    kit: KitTable = KitTable()
    particulars: ParticularsTable = ParticularsTable()
    move: tuple[MoveTable, ...] = ()
    switch: tuple[SwitchTable, ...] = ()
    turn: tuple[TurnTable, ...] = ()
    fault: tuple[FaultTable, ...] = ()

    def to_script(self) -> Script:
        """The script. Raises `UnitError`, `KeyError`, `ValueError`."""
        plant = _plant(self.machine)
        usual = Script(self.duration_s, plant=plant)
        mains, controls = (
            parse(text, Dimension.PRESSURE)
            for text in (self.kit.main_range, self.kit.control_range)
        )
        ranges = {"p": mains, "c": controls}
        spans = {p.name: ranges[p.name[0]] for p in STANDARD} | {"pilot": STANDARD[0].range_pa}
        probes = tuple(
            replace(
                p,
                bits=self.kit.bits,
                range_pa=spans[p.name],
                noise_pa=p.noise_pa * self.kit.noise * (spans[p.name] / p.range_pa),
                lag_s=self.kit.lag_s,
                class_pct=self.kit.accuracy_pct_fs,
            )
            for p in usual.rigging.probes
        )
        rigging = replace(usual.rigging, probes=probes)
        if self.kit.draw_errors:
            rigging = drawn(rigging, self.kit.seed)
        script = replace(
            usual,
            moves=tuple(
                Move(m.lever, m.at_s, m.hold_s, m.value, m.rise_s, m.fall_s) for m in self.move
            ),
            switches=tuple(Switch(s.what, s.at_s, _value(s)) for s in self.switch),
            turns=tuple(Turn(t.screw, t.at_s, t.turns) for t in self.turn),
            faults=tuple(FaultOn(f.name, f.severity, str(f.where)) for f in self.fault),
            rigging=rigging,
            engine_rpm=_speed(self.machine.engine) if self.machine.engine else None,
            rate_hz=self.kit.rate_hz,
            seed=self.kit.seed,
            particulars=Particulars(**self.particulars.model_dump()),
        )
        known = {f.name for f in plant.functions}
        for move in script.moves:
            if move.function not in known:
                raise KeyError(f"the machine has no lever “{move.function}”")
        for deed in script.turns:
            turn(plant, deed.screw, 0.0)
        with_faults(script)
        return script


def _plant(table: MachineTable) -> Plant:
    plant = standard_plant(table.control)
    one, two = plant.pumps
    plant = replace(
        plant,
        control_port=table.control_port,
        shared_relief=table.shared_relief,
        oil=Oil.grade(table.grade),
        oil_celsius=parse(table.oil, Dimension.TEMPERATURE),
        pumps=(replace(one, pistons=table.pistons), replace(two, pistons=table.pistons)),
    )
    for name, share in table.start.items():
        f = plant.function(name)
        plant = plant.with_function(name, start=f.low + share * (f.stroke - f.low))
    for name, load in table.load.items():
        plant = plant.with_function(name, load=load)
    for name in table.blocked:
        f = plant.function(name).blocked()
        plant = plant.with_function(name, low=f.low, stroke=f.stroke)
    for screw, setting in table.set.items():
        plant = set_to(plant, screw, setting)
    return plant


def _value(switch: SwitchTable) -> float:
    if isinstance(switch.value, str):
        return _speed(switch.value)
    if switch.what == "engine":
        raise UnitError(f"“{switch.value}” needs a number and a unit, for example “1000 rpm”.")
    return switch.value


def _speed(text: str) -> float:
    return parse(text, Dimension.SPEED)


def read_script(path: Path) -> Script:
    """The script in a TOML file. Raises `ScriptError` with the file, the key and what is wrong."""
    try:
        return script_from(tomllib.loads(path.read_text(encoding="utf-8-sig")))
    except OSError as fault:
        raise ScriptError(f"The script {path} cannot be read: {fault.strerror}.") from fault
    except UnicodeDecodeError as fault:
        raise ScriptError(f"The script {path} is not text in UTF-8; save it as UTF-8.") from fault
    except tomllib.TOMLDecodeError as fault:
        raise ScriptError(f"The script {path} is not TOML: {fault}.") from fault
    except ScriptError as fault:
        raise ScriptError(f"The script {path} is wrong: {fault}") from fault


def script_from(data: Mapping[str, Any]) -> Script:
    """The script in parsed TOML. Raises `ScriptError` naming the key."""
    if (why := newer(data, SCHEMA)) is not None:
        raise ScriptError(f"{why}.")
    try:
        return ScriptTable.model_validate(data).to_script()
    except ValidationError as fault:
        first = fault.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "script"
        raise ScriptError(f"{where}: {first['msg'].removeprefix('Value error, ')}.") from fault
    except (UnitError, ValueError) as fault:
        raise ScriptError(f"{str(fault).removesuffix('.')}.") from fault
    except KeyError as fault:
        raise ScriptError(f"{fault.args[0]}.") from fault
