"""The kit on the machine: transducers, their electrical signal, and the converter behind them."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

import numpy as np

from gaugebench.simulate.machine import Reading
from gaugebench.simulate.plant import BAR

VOLTS = 5.0
"""Full scale of the converter."""
_OFF_V = 0.02
"""What a converter reads with the wire off and its input pulled down."""


@dataclass(frozen=True, slots=True)
class Probe:
    """One pressure transducer, 0.5–4.5 V over 0 to `range_pa`, behind a converter of 0–5 V.

    zero_pa, gain, drift_pa_s: what is wrong with it. noise_pa: rms. lag_s: first order, hose,
    cable and filter together. bits: of the converter. is_off: the wire hangs loose.
    """

    name: str
    range_pa: float
    zero_pa: float = 0.0
    gain: float = 1.0
    drift_pa_s: float = 0.0
    noise_pa: float = 0.0
    lag_s: float = 0.001
    bits: int = 14
    is_off: bool = False


STANDARD = (
    Probe("pilot", 60 * BAR, noise_pa=0.02 * BAR),
    Probe("p1", 600 * BAR, noise_pa=0.15 * BAR),
    Probe("c1", 60 * BAR, noise_pa=0.02 * BAR),
    Probe("p2", 600 * BAR, noise_pa=0.15 * BAR),
    Probe("c2", 60 * BAR, noise_pa=0.02 * BAR),
)
"""Five transducers in the order in which the board sends them; the engine's speed comes last."""
PORTS = tuple(probe.name for probe in STANDARD)


@dataclass(frozen=True, slots=True)
class Rigging:
    """The kit as it was hooked up. `plugs`: the port that each probe really sits on."""

    probes: tuple[Probe, ...] = STANDARD
    plugs: tuple[str, ...] = PORTS
    speed_noise_rpm: float = 1.5


class Rig:
    """Turns what the ports see into what the board says. Noise is drawn from `seed`."""

    def __init__(self, rigging: Rigging | None = None, seed: int = 1) -> None:
        self.rigging = rigging or Rigging()
        self._random = np.random.default_rng(seed)
        self._noise: list[list[float]] = []
        self._felt: list[float] | None = None
        self._last_s = 0.0
        self._elapsed = -1.0
        self._follow: list[float] = []

    def sample(self, reading: Reading, time_s: float) -> list[float]:
        """Volts of each probe, then rpm. Instants never go back."""
        main, control = reading.main, reading.control
        ports = dict(
            zip(PORTS, (reading.pilot, main[0], control[0], main[1], control[1]), strict=True)
        )
        if not self._noise:
            # Drawn a block at a time: one draw a sample would take longer than the machine.
            block = self._random.standard_normal((512, len(self.rigging.probes) + 1))
            self._noise = block.tolist()[::-1]
        noise = self._noise.pop()
        seen = [ports[plug] for plug in self.rigging.plugs]
        if self._felt is None:
            self._felt = list(seen)
        elapsed = time_s - self._last_s
        if elapsed != self._elapsed:
            self._elapsed = elapsed
            self._follow = [1 - exp(-elapsed / p.lag_s) for p in self.rigging.probes]
        row = []
        for k, probe in enumerate(self.rigging.probes):
            felt = self._felt[k] + (seen[k] - self._felt[k]) * self._follow[k]
            self._felt[k] = felt
            shown = felt * probe.gain + probe.zero_pa + probe.drift_pa_s * time_s
            volts = 0.5 + 4.0 * (shown + probe.noise_pa * noise[k]) / probe.range_pa
            if probe.is_off:
                volts = _OFF_V + 1e-4 * noise[k]
            top = 2**probe.bits - 1
            row.append(max(0, min(top, round(volts / VOLTS * top))) * VOLTS / top)
        row.append(round((reading.rpm + self.rigging.speed_noise_rpm * noise[-1]) * 8) / 8)
        self._last_s = time_s
        return row
