"""A pump's flow without a meter: from a cylinder's size and its travel time, with bounds.

And a cycle time as it would be at rated speed. Both are refused, with the reason, where they would
mislead. Units inside: m, s, m³/s, rpm.
"""

from __future__ import annotations

from dataclasses import dataclass

from gaugebench.analyse import hydraulics
from gaugebench.analyse.uncertainty import Part, combine
from gaugebench.model.figures import Absent, Answer, Figure
from gaugebench.model.saying import Saying, fixed

SIZE = 0.01
"""Relative standard uncertainty of a cylinder's swept volume from its sheet's sizes."""
ENDS = 0.015
"""The same for what start, end cushion and leakage leave out of it.

With `SIZE` these make ± 3.6 % at k = 2, within the ± 3 to 5 % of common practice (no source).
"""


@dataclass(frozen=True, slots=True)
class Cylinder:
    """A function's cylinders. bore, rod, stroke: m. count: equal ones in parallel."""

    bore: float
    rod: float
    stroke: float
    count: int = 1
    fills_rod_side: bool = False

    @property
    def volume(self) -> float:
        """The oil a full stroke takes in, m³."""
        return hydraulics.cylinder_volume(
            self.bore, self.rod, self.stroke, self.count, fills_rod_side=self.fills_rod_side
        )


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What makes a flow from travel time void. None: not known, which is said as a caution."""

    regeneration: bool | None = None
    """Oil from the other side of the cylinder joins the pump's."""
    merged: bool | None = None
    """Another pump's oil joins."""
    torque_limited: bool | None = None
    """The torque control takes the pump off full stroke on the way."""


_VOID = {
    "regeneration": "The function regenerates: oil from the rod side joins the pump's.",
    "merged": "Both pumps' oil joins in this function, so neither flow can be told.",
    "torque_limited": "The torque limit takes the pump off full stroke on the way.",
}
_UNKNOWN = {
    "regeneration": "Whether the function regenerates is not stated.",
    "merged": "Whether another pump's oil joins is not stated.",
    "torque_limited": "Whether the torque limit acts on the way is not known.",
}


def from_travel(cylinder: Cylinder | None, travel: Answer, about: Circumstances) -> Answer:
    """The mean flow (m³/s) into a cylinder over its full stroke, with bounds (k = 2).

    travel: the time of the full stroke, s. Absent, with the reason, where it is void or a size or
    the time is missing.
    """
    for name, reason in _VOID.items():
        if getattr(about, name):
            return Absent(reason)
    if cylinder is None:
        return Absent("The sheet does not state the cylinder's bore, rod and stroke.")
    if isinstance(travel, Absent):
        return Absent(Saying("There is no travel time. {reason}", reason=travel.reason))
    if travel.value <= 0.0:
        return Absent("The travel time is not above zero.")
    value = cylinder.volume / travel.value
    found = combine(
        {
            "cylinder size": Part(SIZE, value),
            "start, cushion and leakage": Part(ENDS, value),
            "travel time": Part((travel.expanded or 0.0) / 2, value / travel.value),
        }
    )
    unknown = (words for name, words in _UNKNOWN.items() if getattr(about, name) is None)
    cautions = (*travel.cautions, *unknown)
    return Figure(value, "m³/s", found.expanded, found.parts, travel.window, cautions)


DROOP_LIMIT_PCT = 3.0
"""No cycle time is corrected beyond this droop (common practice, no source)."""


def at_rated_speed(
    time: Answer, speed: Answer, rated_rpm: float | None, droop: Answer, *, unloaded: bool
) -> Answer:
    """A cycle time as it would be at rated speed, s: time · speed / rated.

    speed: mean engine speed on the way, rpm; droop: %, of the unloaded speed. It stands beside the
    measured time, never for it, and only where the tool was unloaded and the droop under 3 %.
    """
    if isinstance(time, Absent):
        return Absent(Saying("There is no cycle time. {reason}", reason=time.reason))
    if isinstance(speed, Absent):
        return Absent(Saying("There is no engine speed. {reason}", reason=speed.reason))
    if isinstance(droop, Absent):
        return Absent(Saying("There is no droop. {reason}", reason=droop.reason))
    if rated_rpm is None or rated_rpm <= 0.0:
        return Absent("The sheet does not state the rated speed.")
    if not unloaded:
        return Absent("The tool was loaded, so that flow does not follow speed alone.")
    if droop.value + (droop.expanded or 0.0) >= DROOP_LIMIT_PCT:
        return Absent(
            Saying(
                "The engine droops by {droop} %, too much to correct (under 3 %).",
                droop=fixed(droop.value, 1),
            )
        )
    value = time.value * speed.value / rated_rpm
    found = combine(
        {
            "cycle time": Part((time.expanded or 0.0) / 2, speed.value / rated_rpm),
            "engine speed": Part((speed.expanded or 0.0) / 2, time.value / rated_rpm),
        }
    )
    cautions = tuple(dict.fromkeys((*time.cautions, *speed.cautions)))
    return Figure(value, "s", found.expanded, found.parts, time.window, cautions)
