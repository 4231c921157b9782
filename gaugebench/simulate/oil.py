"""The oil: viscosity against temperature, stiffness against pressure and entrained air.

Viscosity follows the Walther relation as ASTM D341 gives it with the constant 0.7:
`log10(log10(nu + 0.7)) = A - B log10(T)`, nu in mm²/s and T in K, drawn through the viscosities
at 40 and 100 °C.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

KELVIN = 273.15
ATMOSPHERE = 101_325.0

_AT_100 = {32: 5.4, 46: 6.8, 68: 8.7, 100: 11.4}
"""Usual mineral oils of viscosity index near 100, mm²/s at 100 °C (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Oil:
    """A hydraulic oil.

    nu_40, nu_100: kinematic viscosity, mm²/s, at 40 and 100 °C. density: kg/m³ at 15 °C.
    stiffness_pa: bulk modulus of the oil and the lines round it, free of air. air: share of
    undissolved air by volume at atmospheric pressure, 0 to 0.1.
    """

    nu_40: float = 46.0
    nu_100: float = 6.8
    density: float = 870.0
    stiffness_pa: float = 1.4e9
    air: float = 0.002

    @staticmethod
    def grade(vg: int) -> Oil:
        """The usual mineral oil of an ISO viscosity grade: 32, 46, 68 or 100.

        Raises `ValueError` for another grade.
        """
        if vg not in _AT_100:
            raise ValueError(f"ISO VG {vg} is not known; choose {', '.join(map(str, _AT_100))}")
        return Oil(nu_40=float(vg), nu_100=_AT_100[vg])

    def viscosity(self, celsius: float) -> float:
        """Kinematic viscosity at `celsius` (−30 to 150), mm²/s (ASTM D341, constant 0.7)."""
        low, high = (_loglog(nu) for nu in (self.nu_40, self.nu_100))
        cold, hot = math.log10(40.0 + KELVIN), math.log10(100.0 + KELVIN)
        slope = (low - high) / (hot - cold)
        power = low - slope * (math.log10(celsius + KELVIN) - cold)
        return math.pow(10.0, math.pow(10.0, power)) - 0.7

    def stiffness(self, gauge_pa: float) -> float:
        """Effective bulk modulus at a gauge pressure, Pa.

        The air is squeezed adiabatically (exponent 1.4) in parallel with the oil.
        """
        return self.stiffness_curve()(gauge_pa)

    def stiffness_curve(self) -> Callable[[float], float]:
        """`stiffness` as a function that is quick to call."""
        # 1/B = 1/B_oil + air · (p0/p)^(1/1.4) / (1.4 p), p absolute
        soft, power = 1.0 / self.stiffness_pa, -1.0 - 1 / 1.4
        share = self.air * math.pow(ATMOSPHERE, 1 / 1.4) / 1.4
        least = -0.7 * ATMOSPHERE

        def curve(gauge_pa: float) -> float:
            absolute = (gauge_pa if gauge_pa > least else least) + ATMOSPHERE
            return 1.0 / (soft + share * math.pow(absolute, power))

        return curve


def _loglog(nu: float) -> float:
    return math.log10(math.log10(nu + 0.7))
