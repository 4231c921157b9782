"""The machine sheet: what a machine is, what is to be checked on it, in which bands.

Written by hand in TOML. Quantities carry their unit; a bare number is refused. Unknown keys are
refused, so that a slip of the pen is found. `gaugebench.procedure.sheet` reads it from a file and
names every fault with its key.
"""

from __future__ import annotations

from pydantic import Field

from gaugebench.model.sheet.checks import HELD, Balance, Check, Stall, Travel, figure_dimension
from gaugebench.model.sheet.machine import (
    Change,
    Cylinder,
    Function,
    Machine,
    Pump,
    Relief,
    Screw,
)
from gaugebench.model.sheet.quantities import Name, Table

__all__ = [
    "HELD",
    "SCHEMA",
    "Balance",
    "Change",
    "Check",
    "Cylinder",
    "Function",
    "Machine",
    "Pump",
    "Relief",
    "Screw",
    "Sheet",
    "Stall",
    "Table",
    "Travel",
    "figure_dimension",
]

SCHEMA = 1


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
