"""What a channel measures on the machine.

The written form (`pump1.main`) is the one used in kit files, column headings and trace files.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

from gaugebench.errors import UnitError
from gaugebench.quantity import Dimension

_PUMP = re.compile(r"^pump(?P<number>[1-9]\d?)\.(?P<port>main|control)$")


class Port(StrEnum):
    """Where on a pump a pressure is taken."""

    MAIN = "main"
    CONTROL = "control"


class ControlPort(StrEnum):
    """Which control circuit a `pump*.control` channel sits on: they behave differently.

    `SIGNAL`: the lever or bypass signal, which neither cut-off nor torque limit moves.
    `REGULATED`: after the torque and cut-off valves, which both move.
    `SERVO`: the stroking piston, which everything moves.
    """

    SIGNAL = "signal"
    REGULATED = "regulated"
    SERVO = "servo"
    UNKNOWN = "unknown"


_OTHERS = {
    "pilot": Dimension.PRESSURE,
    "engine.speed": Dimension.SPEED,
    "oil.temperature": Dimension.TEMPERATURE,
    "load_sense": Dimension.PRESSURE,
    "case_drain.flow": Dimension.FLOW,
    "case.pressure": Dimension.PRESSURE,
    "return.pressure": Dimension.PRESSURE,
    "travel_pilot.left": Dimension.PRESSURE,
    "travel_pilot.right": Dimension.PRESSURE,
    "psv.current": Dimension.CURRENT,
    "psv.pressure": Dimension.PRESSURE,
}


@dataclass(frozen=True, slots=True, order=True)
class Role:
    """A role, by its written form; `Role.parse` is the only way in that checks it."""

    name: str

    @staticmethod
    def parse(text: str) -> Role:
        """The role written as `text`. Raises `UnitError` where there is none of that name."""
        written = text.strip()
        if written in _OTHERS or _PUMP.match(written):
            return Role(written)
        known = ", ".join(["pump1.main", "pump1.control", *_OTHERS])
        raise UnitError(f"“{text}” is not a role; the roles are {known} (any pump number).")

    @staticmethod
    def main(pump: int) -> Role:
        """The outlet pressure of a pump, numbered from 1."""
        return Role(f"pump{pump}.main")

    @staticmethod
    def control(pump: int) -> Role:
        """The control pressure of a pump, numbered from 1."""
        return Role(f"pump{pump}.control")

    @property
    def pump(self) -> int | None:
        """The number of the pump the role belongs to, from 1, or None."""
        match = _PUMP.match(self.name)
        return int(match["number"]) if match else None

    @property
    def port(self) -> Port | None:
        """Which pressure of the pump it is, or None where it belongs to no pump."""
        match = _PUMP.match(self.name)
        return Port(match["port"]) if match else None

    @property
    def dimension(self) -> Dimension:
        """What kind of quantity the role carries."""
        return _OTHERS.get(self.name, Dimension.PRESSURE)

    def __str__(self) -> str:
        return self.name
