"""What the operator and the technician do, when: lever moves, switches, screws."""

from __future__ import annotations

from dataclasses import dataclass, field

from gaugebench.model.trace import Particulars
from gaugebench.simulate.plant import Plant
from gaugebench.simulate.rig import Rigging


@dataclass(frozen=True, slots=True)
class Move:
    """One lever: pushed to `value` (−1 to 1) over `rise_s`, held, let go over `fall_s`.

    start_s: when it leaves neutral. hold_s: from the end of the push to the start of the return.
    """

    function: str
    start_s: float
    hold_s: float
    value: float = 1.0
    rise_s: float = 0.15
    fall_s: float = 0.15

    def at(self, time_s: float) -> float:
        """Where the lever stands."""
        after = time_s - self.start_s
        if after <= 0:
            return 0.0
        if after < self.rise_s:
            return self.value * after / self.rise_s
        after -= self.rise_s + self.hold_s
        if after <= 0:
            return self.value
        return self.value * (1 - after / self.fall_s) if after < self.fall_s else 0.0

    @property
    def let_go_s(self) -> float:
        """When the lever begins to return."""
        return self.start_s + self.rise_s + self.hold_s

    @property
    def end_s(self) -> float:
        """When the lever is back in neutral."""
        return self.let_go_s + self.fall_s


@dataclass(frozen=True, slots=True)
class Switch:
    """A switch of the cab.

    what: `engine` (no-load rpm), `cut-off` (1 in service, 0 cancelled by the test switch), `boost`
    (second relief stage), `travel speed` (1 high).
    """

    what: str
    at_s: float
    value: float


@dataclass(frozen=True, slots=True)
class Turn:
    """A screw turned by so many turns, in positive; see `screws.SCREWS`."""

    screw: str
    at_s: float
    turns: float


@dataclass(frozen=True, slots=True)
class FaultOn:
    """A fault that the machine or the kit has: a name of `faults.FAULTS`, 0 (none) to 1 (severe).

    where: the pump (1 or 2), or the channel's name for a fault of the kit.
    """

    name: str
    severity: float = 1.0
    where: str = "1"


@dataclass(frozen=True, slots=True)
class Script:
    """A machine, what is wrong with it, the kit on it, and what is done with it.

    engine_rpm: no-load speed at first; None for high idle. rate_hz: of the kit.
    """

    duration_s: float
    moves: tuple[Move, ...] = ()
    switches: tuple[Switch, ...] = ()
    turns: tuple[Turn, ...] = ()
    faults: tuple[FaultOn, ...] = ()
    plant: Plant = field(default_factory=Plant)
    rigging: Rigging = field(default_factory=Rigging)
    engine_rpm: float | None = None
    rate_hz: float = 200.0
    seed: int = 1
    particulars: Particulars = field(default_factory=Particulars)
