"""The driver contract: all that a plugin needs, and nothing else.

A plugin registers an instance of `Driver` under the entry-point group `gaugebench.drivers`. It
imports `gaugebench.driver`, `gaugebench.wire`, `gaugebench.model`, `gaugebench.quantity` and
`gaugebench.errors` only. What a driver must do: state its name and its options, open a source,
hand back whatever has arrived. What it must not do: start threads, wait longer than it is told,
retry by itself, or raise anything but `SourceError` and `SourceLost`.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import ClassVar, Generic, Protocol, TypeVar

from pydantic import BaseModel, ConfigDict, Field

from gaugebench.model.arrays import F64


class Clock(Protocol):
    """Where time comes from; tests pass one that they move by hand."""

    def now(self) -> float:
        """Seconds on a clock that never goes back."""

    def sleep(self, seconds: float) -> None:
        """Wait that long."""


class DriverOptions(BaseModel):
    """Base of every driver's options: unknown keys are refused, values are frozen."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class PortOptions(DriverOptions):
    """Base of the options of a driver that sits on a serial port.

    By this the ports are offered for choosing, a refused port is explained, and a port that was
    unplugged is found again by its USB serial number or socket, whatever it is called then.
    """

    port: str = Field(min_length=1, description="the serial port, for example /dev/ttyUSB0 or COM7")


@dataclass(frozen=True, slots=True)
class Input:
    """One input a device offers. `unit`: what its raw values are in, or `counts`."""

    name: str
    unit: str


@dataclass(frozen=True, slots=True)
class Stream:
    """Inputs that are sampled together.

    rate_hz: nominal, None where the device decides. device_wrap_s: the device clock rolls over to
    zero after this many seconds (`math.inf`: never); None where the device has no clock
    (`Batch.device_s` is None). device_step_s: the finest step of the device clock, s.
    """

    name: str
    inputs: tuple[Input, ...]
    rate_hz: float | None = None
    device_wrap_s: float | None = None
    device_step_s: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Batch:
    """Rows of one stream, in the order they were sampled.

    stream: index into `Source.streams`. raw: shape (n, inputs), NaN where the device sent none.
    arrival_s: shape (n,), on the clock given to `open`, when the row's last byte was read.
    device_s: shape (n,), the device's own time, s, as sent (not unwrapped), or None.
    lost_before: how many rows the device says were lost just before this batch (a sequence number
    that skipped), where it numbers them.
    """

    stream: int
    raw: F64
    arrival_s: F64
    device_s: F64 | None = None
    lost_before: int = 0


@dataclass(frozen=True, slots=True)
class Reject:
    """Something that arrived and could not be read. `kind` is a short word used for counting."""

    kind: str
    raw: bytes
    arrival_s: float


@dataclass(frozen=True, slots=True)
class Notice:
    """Something the device said or did that is not a sample. Example: its start-up banner.

    restarted: the device started anew; its clock begins again and its first rows are settling.
    """

    text: str
    arrival_s: float
    restarted: bool = False


@dataclass(frozen=True, slots=True)
class Reading:
    """What has arrived since the last read.

    A notice stands before all batches of its reading: a driver that meets a restart in the middle
    of what arrived hands back the rows before it first, and the notice with the next read.
    """

    batches: Sequence[Batch] = ()
    rejects: Sequence[Reject] = ()
    notices: Sequence[Notice] = ()


class Source(ABC):
    """An open device. One thread reads and closes it."""

    @property
    @abstractmethod
    def streams(self) -> tuple[Stream, ...]:
        """What it delivers; fixed from opening to closing."""

    @abstractmethod
    def read(self, timeout_s: float) -> Reading:
        """Whatever has arrived, waiting at most `timeout_s` for the first of it.

        Raises `SourceLost` where the device went away. Rows already read are never lost by that:
        they are handed back first and the error is raised at the next call.
        """

    @abstractmethod
    def close(self) -> Reading:
        """Let go of the device and hand back what was still held. May be called twice."""


OptionsT = TypeVar("OptionsT", bound=DriverOptions)


class Driver(ABC, Generic[OptionsT]):
    """A plugin: a name, options, and how to open a source."""

    name: str
    """As written in a kit file, for example `text-lines`."""
    summary: str
    """One line for the list of drivers."""
    options: type[OptionsT]
    needs: ClassVar[Mapping[str, str]] = MappingProxyType({})
    """Libraries that are not always installed, each with what to ask pip for to get it."""
    simulated: ClassVar[bool] = False
    """True where what it delivers is not measured on a machine now; whatever is recorded through
    it says so, whether or not its kit does."""

    @abstractmethod
    def open(self, options: OptionsT, inputs: Sequence[Input], clock: Clock) -> Source:
        """Open the device.

        `inputs`: the inputs that the kit names, in the kit's order; a driver whose device knows its
        own inputs checks them, others take them as given. Raises `SourceError`.
        """
