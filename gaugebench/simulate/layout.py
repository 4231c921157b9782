"""Where everything stands in the state, and what the operator can ask for.

The state is one flat list of floats, because pure Python works on that fastest. What the equations
see is shorter: the functions that are not active are left out (`Demand.active`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

P = 0
"""Main pressures, Pa (two entries, as all that have two pumps)."""
S = 2
"""Strokes, 0 to 1."""
FELT = 4
"""The pressures that the cut-offs feel, Pa."""
SIGNAL = 6
"""Control signals at the regulators, Pa."""
REGULATED = 8
"""Regulated control pressures, Pa."""
RELIEF = 10
"""Openings of the main reliefs, 1 at rated flow."""
SUM = 12
"""The sum of the mains that the torque limit feels, Pa."""
PILOT = 13
"""Pilot pressure, Pa."""
TURN = 14
"""Engine speed, rad/s."""
GOVERNOR = 15
"""Torque that the engine gives, N·m."""
MERGE = 16
"""Opening of the merge valve, 0 to 1."""
OIL = 17
"""Oil temperature, °C."""
FUNCTIONS = 18
"""From here `WIDTH` entries a function: spool (−1 to 1), place, speed, pressures at A and B."""
WIDTH = 5
SPOOL, PLACE, SPEED, PA, PB = range(WIDTH)


@dataclass(slots=True)
class Demand:
    """What the operator asks for, and what changes slowly.

    levers: −1 to 1, one a function. cut_off: in service; boost: second relief stage; fast: high
    travel speed. active: the functions that move or are asked to, in the order in which they stand
    in the state that the equations see; the others stand locked behind their spools. nu:
    viscosity, mm²/s.
    """

    levers: list[float]
    no_load_rpm: float
    cut_off: bool = True
    boost: bool = False
    fast: bool = False
    active: Sequence[int] = ()
    nu: float = 30.0


class Slopes:
    """The part of the Jacobian that makes the equations stiff.

    diagonal: of the whole state, 1/s. drives: for each chamber that a pump can reach its place in
    the state and how it and the pumps push each other, (place, u0, u1, v0, v1) with u the change
    of a pump's rate with the chamber, v the other way round. across: the same between the pumps.
    """

    __slots__ = ("across", "diagonal", "drives")

    def __init__(self, size: int) -> None:
        self.diagonal = [0.0] * size
        self.drives: list[tuple[int, float, float, float, float]] = []
        self.across = (0.0, 0.0)


@dataclass(slots=True)
class Link:
    """What the valve groups and the pumps tell each other within one evaluation."""

    inlet: list[float]
    """Flow that each pump's functions take, m³/s."""
    slope: list[float]
    """Its change with the pump's pressure."""
    opening: list[float]
    """How far each centre is open, 0 to 1."""
    asked: list[float]
    """The furthest lever of each group, 0 to 1."""
    load: list[float]
    """The highest load pressure in each group, Pa."""
    drives: list[tuple[int, float, float, float]]
    """For each chamber that a pump can reach: place, slopes from both pumps, its gain."""
    merging: float = 0.0
    pilot_flow: float = 0.0
    work: float = 0.0
    """Power given to the loads, W."""
