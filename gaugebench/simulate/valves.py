"""Flow through valves, and the constants of those that the plant does not vary."""

from __future__ import annotations

from math import pi, sqrt

from gaugebench.simulate.plant import BAR, LITRE_A_MINUTE

SMOOTH_PA = 2e5
"""Below this difference of pressure an orifice's flow turns laminar."""
PORT_SLOPE = 200 * LITRE_A_MINUTE / (20 * BAR)
"""A direct-acting port relief: 200 L/min at 20 bar above its crack, in m³/s a Pa."""
FILL_SLOPE = 200 * LITRE_A_MINUTE / (1 * BAR)
"""Anti-cavitation check from the return line."""
CHECK_PA = 2 * BAR
"""Two pumps share one relief behind check valves; the pump that stands this much higher has it for
itself."""
MERGE_OVERLAP = 0.3
"""Share of its stroke that the merge valve moves before it opens."""
UNLOAD_PA, UNLOAD_SLOPE = 32 * BAR, 100 * LITRE_A_MINUTE / (10 * BAR)
"""Load sensing: the unloader opens this far above the signal, and passes so much, m³/s a Pa."""
LEVER_DEAD, LEVER_FULL, SPOOL_FULL = 6 * BAR, 30 * BAR, 26 * BAR
"""A lever's secondary pressure at first touch and at its end; where the spool is fully open."""
RESIDUAL = 5.5 * BAR
"""What a positive control's signal line keeps in neutral."""
SPOOL_LAG_S = 0.035
STALL = 40.0
"""Speed below which the engine dies, rad/s."""
SPOOL_OIL = 4e-6
"""Pilot oil that a spool takes for its stroke, m³."""


def orifice(conductance: float, difference: float) -> float:
    """Flow, m³/s, through an orifice of `conductance` = Cd·A·√(2/ρ), turning laminar near zero.

    From 5 times `SMOOTH_PA` upwards this is Cd·A·√(2Δp/ρ) within 1 %.
    """
    return conductance * difference / sqrt(sqrt(difference * difference + SMOOTH_PA * SMOOTH_PA))


def conductance(diameter_m: float, density: float, discharge: float = 0.61) -> float:
    """Cd·A·√(2/ρ) of a round sharp-edged orifice, m³/s at 1 Pa."""
    return discharge * pi * diameter_m * diameter_m / 4 * sqrt(2 / density)
