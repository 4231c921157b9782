"""Hydraulic power of a pump, heat sent over a relief, and what it costs in fuel.

The kit measures no flow, so power is an estimate: from displacement, speed and an assumed stroke.
It is never shown without its bounds. Units inside: Pa, m³, rpm, W, J, s.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse import hydraulics
from gaugebench.analyse.uncertainty import Part, combine, rectangular
from gaugebench.model.arrays import F64
from gaugebench.model.figures import Absent, Answer, Figure
from gaugebench.model.saying import Saying

ESTIMATE = "It is an estimate: no flow was measured; stroke and efficiency are assumed."


@dataclass(frozen=True, slots=True)
class Share:
    """A share (0 to 1) that is not measured: what is taken, and between which bounds it lies."""

    taken: float
    low: float
    high: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.low <= self.taken <= self.high <= 1.0:
            raise ValueError("a share lies between its bounds, and these between 0 and 1")

    @property
    def standard(self) -> float:
        """Its standard uncertainty: rectangular, to the farther bound."""
        return rectangular(max(self.taken - self.low, self.high - self.taken))


FULL_STROKE = Share(1.0, 0.9, 1.0)
"""Of a pump that its control leaves at full stroke (common practice, no source)."""
VOLUMETRIC = Share(0.93, 0.85, 0.98)
"""Of a piston pump in order to one that is worn (common practice, no source)."""


def pump_power(
    pressure: Answer,
    speed: Answer,
    displacement: float | None,
    stroke: Share = FULL_STROKE,
    *,
    drive_ratio: float = 1.0,
    volumetric: Share = VOLUMETRIC,
) -> Answer:
    """The hydraulic power of one pump, W, as an estimate with its bounds (k = 2).

    pressure: Pa; speed: of the engine, rpm. displacement: m³ a turn, from the sheet; drive_ratio:
    pump turns for one engine turn. Absent where any of these is.
    """
    if isinstance(pressure, Absent):
        return Absent(Saying("There is no pressure. {reason}", reason=pressure.reason))
    if isinstance(speed, Absent):
        return Absent(Saying("There is no engine speed. {reason}", reason=speed.reason))
    if displacement is None:
        return Absent("The sheet does not state the pump's displacement.")
    full = hydraulics.pump_flow(displacement, speed.value * drive_ratio)
    flow = full * stroke.taken * volumetric.taken
    value = hydraulics.power(pressure.value, flow)
    parts = combine(
        {
            "pressure": Part((pressure.expanded or 0.0) / 2, flow),
            "engine speed": Part(
                (speed.expanded or 0.0) / 2, value / speed.value if speed.value else 0.0
            ),
            "stroke": Part(stroke.standard, pressure.value * full * volumetric.taken),
            "volumetric efficiency": Part(
                volumetric.standard, pressure.value * full * stroke.taken
            ),
        }
    )
    cautions = (ESTIMATE, *pressure.cautions, *speed.cautions)
    return Figure(
        value,
        "W",
        parts.expanded,
        parts.parts,
        pressure.window,
        tuple(dict.fromkeys(cautions)),
    )


def relief_heat(times: F64, pressures: F64, flow: float | F64) -> float:
    """The heat put into the oil while a flow goes over a relief, J: the integral of p · Q.

    times: s, shape (n,); pressures: Pa gauge, shape (n,); flow: m³/s, one or shape (n,). Samples
    without a value are bridged in a straight line by no more than the trapezium beside them.
    """
    rate = pressures * flow
    good = np.isfinite(rate)
    return float(np.trapezoid(rate[good], times[good])) if np.count_nonzero(good) > 1 else 0.0


@dataclass(frozen=True, slots=True)
class Fuel:
    """What power costs in fuel. volume_rate: m³/s. cost_rate: money per s, None without a price."""

    volume_rate: float
    cost_rate: float | None

    @property
    def litres_per_hour(self) -> float:
        """The volume rate as a technician says it."""
        return self.volume_rate * 3.6e6


def fuel_for(
    power_w: float,
    specific_g_kwh: float,
    *,
    drive_efficiency: float = 0.85,
    density: float = 835.0,
    price_per_litre: float | None = None,
) -> Fuel:
    """The fuel that a hydraulic power costs at a stated specific consumption of the engine.

    specific_g_kwh: g of fuel for 1 kWh at the crankshaft. drive_efficiency: from crankshaft to oil,
    above 0 and at most 1 (common practice, no source). density: of the fuel, kg/m³ (diesel fuel
    after EN 590 is 820 to 845 at 15 °C, from memory). Raises `ValueError` for values without sense.
    """
    if not 0.0 < drive_efficiency <= 1.0 or specific_g_kwh <= 0.0 or density <= 0.0:
        raise ValueError("fuel needs an efficiency in (0, 1], a consumption and a density above 0")
    kilograms = power_w / drive_efficiency * specific_g_kwh / 3.6e9
    volume = kilograms / density
    cost = None if price_per_litre is None else volume * 1e3 * price_per_litre
    return Fuel(volume, cost)
