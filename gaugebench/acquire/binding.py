"""From a kit's source entry to an open source, with every input in its place."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from gaugebench.acquire.ports import explain
from gaugebench.driver import Clock, Driver, DriverOptions, Input, PortOptions, Source, Stream
from gaugebench.errors import KitError, SourceError, UnitError
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.model.kit import SourceEntry
from gaugebench.quantity import unit as known_unit

Loader = Callable[[str], Driver[Any]]


@dataclass(frozen=True, slots=True)
class Bound:
    """A source entry whose driver was found and whose options are valid."""

    name: str
    driver: Driver[Any]
    options: DriverOptions
    inputs: tuple[Input, ...]
    channels: tuple[Channel, ...]

    @property
    def port(self) -> str | None:
        """The serial port it sits on, or None."""
        return self.options.port if isinstance(self.options, PortOptions) else None

    def open(self, clock: Clock, port: str | None = None) -> Source:
        """Open it, on another port than the kit's where one is given. Raises `SourceError`."""
        options = self.options
        if port is not None and port != self.port:
            options = options.model_copy(update={"port": port})
        try:
            return self.driver.open(options, self.inputs, clock)
        except SourceError as fault:
            told = explain(options.port, fault) if isinstance(options, PortOptions) else ""
            raise SourceError(told or str(fault)) from fault


@dataclass(frozen=True, slots=True)
class Place:
    """Which of a driver's streams and inputs make one stream of the session."""

    driver_stream: int
    columns: tuple[int, ...]
    spec: StreamSpec


def bind(entry: SourceEntry, where: str, load: Loader) -> Bound:
    """Find the driver and check the options.

    where: the entry's key in the kit, for messages. Raises `DriverError`, `KitError`.
    """
    driver = load(entry.driver)
    try:
        options = driver.options.model_validate(entry.options)
    except ValidationError as fault:
        first = fault.errors()[0]
        key = ".".join([where, "options", *(str(part) for part in first["loc"])])
        message = first["msg"].removeprefix("Value error, ")
        raise KitError(f"{key}: {message} (driver {entry.driver}).") from fault
    channels = entry.channels()
    inputs = tuple(
        Input(c.input, channel.raw_unit) for c, channel in zip(entry.channel, channels, strict=True)
    )
    doubles = [i.name for i in inputs if [j.name for j in inputs].count(i.name) > 1]
    if doubles:
        raise KitError(f"{where}.channel: the input “{doubles[0]}” is given twice.")
    return Bound(entry.name, driver, options, inputs, channels)


def places(bound: Bound, streams: tuple[Stream, ...]) -> tuple[Place, ...]:
    """How the source's streams serve the kit's channels; streams that serve none are left out.

    Raises `KitError` where no stream has an input that the kit names, or has it in another unit.
    """
    offered = {i.name: (s, c) for s, stream in enumerate(streams) for c, i in _inputs(stream)}
    for wanted in bound.inputs:
        if wanted.name not in offered:
            known = ", ".join(offered) or "none"
            raise KitError(
                f"The source “{bound.name}” has no input “{wanted.name}”; its inputs are {known}."
            )
        stream, column = offered[wanted.name]
        unit = streams[stream].inputs[column].unit
        if unit and wanted.unit and _symbol(unit) != _symbol(wanted.unit):
            raise KitError(
                f"The input “{wanted.name}” of “{bound.name}” is in {unit}; "
                f"the kit says {wanted.unit}."
            )
    found = []
    for number, stream_ in enumerate(streams):
        pairs = [
            (offered[i.name][1], channel)
            for i, channel in zip(bound.inputs, bound.channels, strict=True)
            if offered[i.name][0] == number
        ]
        if pairs:
            name = bound.name if len(streams) == 1 else f"{bound.name}/{stream_.name}"
            spec = StreamSpec(
                name,
                tuple(channel for _, channel in pairs),
                stream_.rate_hz,
                time_estimated=stream_.device_wrap_s is None,
            )
            _check_supplies(spec)
            found.append(Place(number, tuple(column for column, _ in pairs), spec))
    return tuple(found)


def _check_supplies(spec: StreamSpec) -> None:
    names = {c.name for c in spec.channels}
    for channel in spec.channels:
        if channel.chain.supply and channel.chain.supply not in names:
            raise KitError(
                f"The supply “{channel.chain.supply}” of “{channel.name}” is not sampled together "
                f"with it in “{spec.name}”; use an input of the same device and rate, or take out "
                "the supply."
            )


def _symbol(written: str) -> str:
    """A unit in the program's spelling; as written where it is none (counts)."""
    try:
        return known_unit(written).symbol
    except UnitError:
        return written


def _inputs(stream: Stream) -> list[tuple[int, Input]]:
    return list(enumerate(stream.inputs))
