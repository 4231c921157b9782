"""Pressure ripple of a piston pump at its outlet, as the sum of a few harmonics of the shaft.

The flow of a piston pump is the sum of the half sines of its pistons; an odd number N of them
ripples at 2·N times the speed, an even number at N times. On top of that every piston that meets
the high pressure takes a gulp to be compressed, N times a turn. The outlet answers with the
impedance of a small volume in parallel with the line's characteristic impedance.
"""

from __future__ import annotations

from math import cos, pi, sin, sqrt

import numpy as np

OUTLET_VOLUME = 0.3e-3
"""m³ between the pistons and the hose."""
LINE_IMPEDANCE = 2.0e9
"""ρ·c/A of a 25 mm hose, Pa·s/m³."""
GULP = 0.7
"""Share of a piston's chamber, as displacement/N, that is compressed at once (common practice)."""
HARMONICS = 4


def flow_shape(pistons: int, points: int = 7200) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Flow over one turn as a share of its mean, shape (points,), from half sines."""
    angle = np.arange(points) * 2 * pi / points
    phases = angle[:, None] + np.arange(pistons) * 2 * pi / pistons
    flow = np.maximum(np.sin(phases), 0.0).sum(axis=1)
    return np.asarray(flow / flow.mean())


class Ripple:
    """The ripple of one pump."""

    def __init__(self, pistons: int, stiffness_pa: float) -> None:
        spectrum = np.fft.rfft(flow_shape(pistons)) / 3600  # amplitude of each order
        self._pistons = pistons
        self._kinematic = [complex(spectrum[pistons * k]) for k in range(1, HARMONICS + 1)]
        self._lag_s = OUTLET_VOLUME / stiffness_pa * LINE_IMPEDANCE
        self._stiffness = stiffness_pa

    def at(self, angle: float, speed: float, flow: float, pressure: float) -> float:
        """Pressure to be added to the mean, Pa.

        angle: of the shaft, rad. speed: rad/s. flow: mean, m³/s. pressure: mean, Pa.
        """
        gulp = GULP * max(pressure, 0.0) / self._stiffness
        # The outlet's volume over the line's impedance, at the first harmonic.
        reactance = self._pistons * speed * self._lag_s
        turn = complex(cos(self._pistons * angle), sin(self._pistons * angle))
        total, wave, k = 0.0, turn, 1
        for share in self._kinematic:
            # The gulps are short: their harmonics fall off slowly.
            total += ((share - complex(0.0, gulp / k)) * wave / complex(1.0, k * reactance)).real
            wave *= turn
            k += 1
        return total * flow * LINE_IMPEDANCE

    @staticmethod
    def peak_to_peak_share(pistons: int) -> float:
        """Kinematic flow ripple, peak to peak, as a share of the greatest flow."""
        shape = flow_shape(pistons)
        return float((shape.max() - shape.min()) / shape.max())


def line_impedance(bore_m: float, density: float, stiffness_pa: float) -> float:
    """Characteristic impedance of a line, ρ·c/A with c = √(B/ρ), Pa·s/m³."""
    return sqrt(stiffness_pa * density) / (pi * bore_m * bore_m / 4)
