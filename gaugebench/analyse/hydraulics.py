"""Closed forms of hydraulics: power, torque, flow, cylinders, orifices, stiffness of trapped oil.

All in the units used inside: Pa, m³/s, m, m³, W, N·m; speeds in rpm; densities in kg/m³.
"""

from __future__ import annotations

import math


def power(pressure: float, flow: float) -> float:
    """Hydraulic power, W: p · Q."""
    return pressure * flow


def torque(pressure: float, displacement: float) -> float:
    """The torque that a displacement (m³ a turn) takes against a pressure, N·m: Δp · D / 2π."""
    return pressure * displacement / (2 * math.pi)


def shaft_power(torque_nm: float, speed_rpm: float) -> float:
    """The power of a shaft, W."""
    return torque_nm * 2 * math.pi * speed_rpm / 60


def pump_flow(displacement: float, speed_rpm: float, volumetric: float = 1.0) -> float:
    """A pump's flow, m³/s. displacement: m³ a turn; volumetric: its efficiency, 0 to 1."""
    return displacement * speed_rpm / 60 * volumetric


def circle(diameter: float) -> float:
    """The area of a circle, m²."""
    return math.pi * diameter**2 / 4


def cylinder_area(bore: float, rod: float, *, fills_rod_side: bool) -> float:
    """The area that the oil pushes on, m². Raises `ValueError` unless 0 ≤ rod < bore."""
    if not 0.0 <= rod < bore:
        raise ValueError("a cylinder's rod is thinner than its bore")
    return circle(bore) - circle(rod) if fills_rod_side else circle(bore)


def cylinder_volume(
    bore: float, rod: float, stroke: float, count: int = 1, *, fills_rod_side: bool = False
) -> float:
    """The oil that a stroke of `count` equal cylinders takes in, m³."""
    return count * stroke * cylinder_area(bore, rod, fills_rod_side=fills_rod_side)


def orifice_flow(
    drop: float, diameter: float, discharge: float = 0.61, density: float = 870.0
) -> float:
    """The flow through a sharp orifice, m³/s: Cd · A · √(2 Δp / ρ). drop: Pa, 0 or more."""
    return discharge * circle(diameter) * math.sqrt(2 * drop / density)


def rise_rate(flow: float, volume: float, bulk_modulus: float = 1.4e9) -> float:
    """How fast a flow raises the pressure of a trapped volume, Pa/s: B · Q / V."""
    return bulk_modulus * flow / volume


def piston_hz(pistons: int, speed_rpm: float) -> float:
    """How often a piston delivers, Hz: the frequency at which a pump's pressure ripples most."""
    return pistons * speed_rpm / 60


def flow_ripple_hz(pistons: int, speed_rpm: float) -> float:
    """The frequency of the kinematic flow ripple, Hz: twice the piston frequency for odd counts."""
    return piston_hz(pistons, speed_rpm) * (2 if pistons % 2 else 1)


def flow_ripple_share(pistons: int) -> float:
    """The kinematic ripple of a piston pump's flow, peak to peak as a share of its peak flow.

    1 − cos(π / 2N) for an odd and 1 − cos(π / N) for an even number N of pistons.
    """
    return 1 - math.cos(math.pi / ((2 if pistons % 2 else 1) * pistons))
