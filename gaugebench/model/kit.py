"""The kit file: which sources there are and what each of their inputs means.

Written by hand in TOML or saved by the hook-up place. Quantities carry their unit; a bare number
is refused. Unknown keys are refused, so that a slip of the pen is found.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator, model_validator

from gaugebench.errors import KitError, UnitError
from gaugebench.model.channel import Channel, Transducer
from gaugebench.model.conditioning import Chain, Wiring
from gaugebench.model.role import ControlPort, Role
from gaugebench.model.schema import newer
from gaugebench.quantity import Dimension, Reference, parse, unit

SCHEMA = 1


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Calibration(_Strict):
    """A calibration curve as certificates state it: `true = c0 + c1 * shown + c2 * shown² + …`.

    unit: what shown and true are in, for example `bar`. coefficients: c0, c1, … in it.
    """

    unit: str
    coefficients: tuple[float, ...] = Field(min_length=2, max_length=8)

    def curve(self, dimension: Dimension) -> tuple[float, ...]:
        """The coefficients in the unit used inside. Raises `UnitError`."""
        written = unit(self.unit)
        if written.dimension is not dimension or written.offset:
            raise UnitError(
                f"A calibration in “{self.unit}” does not suit this channel; "
                f"state it in a unit such as {dimension.value}."
            )
        return tuple(c * written.factor ** (1 - n) for n, c in enumerate(self.coefficients))


class ChannelEntry(_Strict):
    """One `[[source.channel]]` table."""

    input: str
    """The device's name for the input."""
    role: str | None = None
    name: str | None = None
    signal: Wiring = Wiring.DIRECT
    unit: str = ""
    """What `raw * scale + offset` is in: `V`, `mA`, `bar`, `rpm`, …"""
    scale: float = 1.0
    """For a device that sends counts or tenths: what one of them is, in `unit`."""
    offset: float = 0.0
    range: tuple[str, str] | None = None
    """The transducer's range, for example `["0 bar", "600 bar"]`."""
    reference: Reference = Reference.GAUGE
    calibration: Calibration | None = None
    """From the certificate: turns what the transducer shows into what is."""
    zero: str | None = None
    alarm: str | None = None
    """Passing this is marked in the record at once, for example `"380 bar"`."""
    zeroed: str = ""
    """When and how the zero was taken, in words."""
    supply: str = ""
    """The input of this source that measures, in V, what feeds a 0.5-4.5 V or mV/V transducer."""
    excitation: str | None = None
    """What feeds an mV/V bridge, for example `10 V`; with a measured supply, its nominal value."""
    sensitivity_mv_v: float | None = Field(default=None, gt=0, le=100)
    """From the bridge's certificate: mV for each V of excitation, over its whole range."""
    fitting: str = ""
    """How it is fitted: adapter, hose bore and length."""
    control_port: ControlPort = ControlPort.UNKNOWN
    serial: str = ""
    proof: str | None = None
    burst: str | None = None
    accuracy_pct_fs: float | None = Field(default=None, gt=0, le=10)
    calibrated_on: date | None = None
    resolution_bits: int | None = Field(default=None, ge=6, le=32)

    @field_validator("role")
    @classmethod
    def _known_role(cls, value: str | None) -> str | None:
        if value is not None:
            Role.parse(value)
        return value

    @model_validator(mode="after")
    def _enough_said(self) -> ChannelEntry:
        if self.signal is not Wiring.DIRECT and self.range is None:
            raise ValueError(f"“{self.input}” has signal {self.signal.value} and needs its range")
        self._fed()
        self.to_channel()
        return self

    def _fed(self) -> None:
        """Refuse what cannot be put in proportion to a supply."""
        is_bridge = self.signal is Wiring.BRIDGE
        said = f"“{self.input}” has signal {self.signal.value}"
        if is_bridge and self.sensitivity_mv_v is None:
            raise ValueError(f"{said} and needs its sensitivity_mv_v")
        if is_bridge and not self.supply and self.excitation is None:
            raise ValueError(f"{said} and needs its excitation or the supply that measures it")
        if not is_bridge and (self.sensitivity_mv_v is not None or self.excitation is not None):
            raise ValueError(f"{said}; sensitivity_mv_v and excitation are for mV/V alone")
        if self.excitation is not None and parse(self.excitation, Dimension.VOLTAGE) <= 0:
            raise ValueError(f"{said} and an excitation that is not above 0 V")
        if self.supply and self.signal not in {Wiring.BRIDGE, Wiring.RATIOMETRIC}:
            raise ValueError(f"{said}, which follows no supply; take out its supply")
        if self.supply == self.input:
            raise ValueError(f"{said} and cannot be its own supply")

    def to_channel(self) -> Channel:
        """The channel this entry describes. Raises `UnitError`.

        Its chain names the supply as the kit does, by input; `SourceEntry.channels` by channel.
        """
        role = Role.parse(self.role) if self.role else None
        raw = unit(self.unit or _usual_unit(self.signal))
        is_direct = self.signal is Wiring.DIRECT
        dimension = role.dimension if role else (raw.dimension if is_direct else Dimension.PRESSURE)
        if is_direct and raw.dimension is not dimension:
            raise UnitError(
                f"“{self.input}” is in {raw.symbol}, but {role} is a {dimension.name.lower()}."
            )
        span = tuple(parse(end, dimension) for end in self.range) if self.range else (None, None)
        factor, offset = (raw.factor, raw.offset) if is_direct else self._scale(raw.symbol)
        full_scale = span[1] - span[0] if span[0] is not None and span[1] is not None else None
        step = full_scale / 2**self.resolution_bits if full_scale and self.resolution_bits else None
        return Channel(
            name=self.name or self.input,
            role=role,
            dimension=dimension,
            reference=(raw.reference or self.reference)
            if dimension is Dimension.PRESSURE
            else None,
            raw_unit=raw.symbol,
            chain=Chain(
                wiring=self.signal,
                raw_factor=self.scale * factor,
                raw_offset=self.offset * factor + offset,
                range_low=span[0],
                range_high=span[1],
                zero=parse(self.zero, dimension) if self.zero else 0.0,
                curve=self.calibration.curve(dimension) if self.calibration else (),
                supply=self.supply,
                excitation=parse(self.excitation, Dimension.VOLTAGE) if self.excitation else None,
                sensitivity=self.sensitivity_mv_v,
            ),
            transducer=Transducer(
                serial=self.serial,
                proof_pa=parse(self.proof, dimension) if self.proof else None,
                burst_pa=parse(self.burst, dimension) if self.burst else None,
                accuracy_pct_fs=self.accuracy_pct_fs,
                calibrated_on=self.calibrated_on,
            ),
            control_port=self.control_port,
            step=step,
            alarm=parse(self.alarm, dimension) if self.alarm else None,
        )

    def _scale(self, symbol: str) -> tuple[float, float]:
        """From the raw unit to the unit of the wiring's levels (V, mA, of a bridge mV)."""
        try:
            factor = {"V": 1.0, "mV": 1e-3, "µV": 1e-6, "mA": 1.0, "A": 1e3, "µA": 1e-3}[symbol]
        except KeyError as fault:
            raise UnitError(f"A signal cannot be in “{symbol}”; write V, mV or mA.") from fault
        return factor * (1e3 if self.signal is Wiring.BRIDGE else 1.0), 0.0


class SourceEntry(_Strict):
    """One `[[source]]` table: a driver, its options, and the channels on it."""

    driver: str
    name: str = "kit"
    options: dict[str, Any] = Field(default_factory=dict)
    """Handed to the driver, which validates them."""
    channel: tuple[ChannelEntry, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _supplies_are_there(self) -> SourceEntry:
        for entry in self.channel:
            if entry.supply:
                self._supply_of(entry)
        return self

    def _supply_of(self, entry: ChannelEntry) -> Channel:
        found = [c.to_channel() for c in self.channel if c.input == entry.supply]
        said = f"“{entry.input}” has the supply “{entry.supply}”"
        if not found:
            raise ValueError(f"{said}, which is no input of this source; add a channel for it")
        supply = found[0]
        if supply.dimension is not Dimension.VOLTAGE or supply.chain.wiring is not Wiring.DIRECT:
            raise ValueError(f"{said}, which is not in V; give that channel unit = “V”")
        if [c.name or c.input for c in self.channel].count(supply.name) > 1:
            raise ValueError(f"{said}, but two channels are called “{supply.name}”")
        return supply

    def channels(self) -> tuple[Channel, ...]:
        """The channels of all entries, in order, each with its supply named as a channel."""
        made = []
        for entry in self.channel:
            channel = entry.to_channel()
            if entry.supply:
                supply = self._supply_of(entry).name
                channel = replace(channel, chain=replace(channel.chain, supply=supply))
            made.append(channel)
        return tuple(made)


class Kit(_Strict):
    """A whole kit."""

    schema_version: int = Field(default=SCHEMA, alias="schema", ge=1, le=SCHEMA)
    name: str = "kit"
    simulated: bool = False
    """True where the kit is not on a machine; what is recorded through it says so everywhere."""
    source: tuple[SourceEntry, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _no_doubles(self) -> Kit:
        roles = [c.role for s in self.source for c in s.channel if c.role]
        names = [s.name for s in self.source]
        for kind, found in (("role", roles), ("source name", names)):
            double = next((x for x in found if found.count(x) > 1), None)
            if double is not None:
                raise ValueError(f"the {kind} “{double}” is given twice")
        return self


def read_kit(path: Path) -> Kit:
    """The kit in a TOML file. Raises `KitError` with the file, the key and what was expected."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as fault:
        raise KitError(f"The kit file {path} cannot be read: {fault.strerror}.") from fault
    except UnicodeDecodeError as fault:
        raise KitError(f"The kit file {path} is not text in UTF-8; save it as UTF-8.") from fault
    try:
        return kit_from(tomllib.loads(text))
    except tomllib.TOMLDecodeError as fault:
        raise KitError(f"The kit file {path} is not TOML: {fault}.") from fault
    except KitError as fault:
        raise KitError(f"The kit file {path} is wrong: {fault}") from fault


def kit_from(data: Mapping[str, Any]) -> Kit:
    """The kit in parsed TOML (or JSON). Raises `KitError` naming the key."""
    if (why := newer(data, SCHEMA)) is not None:
        raise KitError(f"{why}.")
    try:
        return Kit.model_validate(data)
    except ValidationError as fault:
        first = fault.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "kit"
        raise KitError(f"{where}: {first['msg'].removeprefix('Value error, ')}.") from fault
    except UnitError as fault:
        raise KitError(str(fault)) from fault


def _usual_unit(signal: Wiring) -> str:
    return {Wiring.CURRENT: "mA", Wiring.DIRECT: "", Wiring.BRIDGE: "mV"}.get(signal, "V")
