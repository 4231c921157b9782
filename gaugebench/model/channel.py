"""A channel: one input of a device, and what it means."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from gaugebench.model.conditioning import IDENTITY, Chain
from gaugebench.model.role import ControlPort, Role
from gaugebench.quantity import Dimension, Reference


@dataclass(frozen=True, slots=True)
class Transducer:
    """The transducer on a channel. Pressures in Pa; accuracy in % of full scale (k = 2)."""

    serial: str = ""
    proof_pa: float | None = None
    burst_pa: float | None = None
    accuracy_pct_fs: float | None = None
    calibrated_on: date | None = None


@dataclass(frozen=True, slots=True)
class Channel:
    """One input, its place in the row of test ports, and the chain to its quantity."""

    name: str
    role: Role | None = None
    dimension: Dimension = Dimension.PRESSURE
    reference: Reference | None = None
    raw_unit: str = ""
    chain: Chain = IDENTITY
    transducer: Transducer = field(default_factory=Transducer)
    control_port: ControlPort = ControlPort.UNKNOWN
    step: float | None = None
    """The converter's step in the unit used inside, where known."""
    alarm: float | None = None
    """Passing this, in the unit used inside, is marked in the record at once."""

    @property
    def title(self) -> str:
        """What a person calls it: the role where it plays one, else the name."""
        return str(self.role) if self.role else self.name


@dataclass(frozen=True, slots=True)
class StreamSpec:
    """Channels that are sampled together and share one time vector."""

    name: str
    channels: tuple[Channel, ...]
    rate_hz: float | None = None
    time_estimated: bool = False
