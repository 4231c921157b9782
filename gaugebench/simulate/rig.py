"""The kit on the machine: transducers, their electrical signal, and the converter behind them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.simulate.machine import Reading
from gaugebench.simulate.plant import BAR


@dataclass(frozen=True, slots=True)
class Probe:
    """One pressure transducer, 0.5–4.5 V over 0 to `range_pa`, behind a converter of 0–5 V.

    zero_pa, gain: what is wrong with it. noise_pa: rms. lag_s: first order, cable and filter
    included. bits: of the converter.
    """

    name: str
    range_pa: float
    zero_pa: float = 0.0
    gain: float = 1.0
    noise_pa: float = 0.0
    lag_s: float = 0.001
    bits: int = 14


STANDARD = (
    Probe("pilot", 60 * BAR, noise_pa=0.02 * BAR),
    Probe("p1", 600 * BAR, noise_pa=0.15 * BAR),
    Probe("c1", 60 * BAR, noise_pa=0.02 * BAR),
    Probe("p2", 600 * BAR, noise_pa=0.15 * BAR),
    Probe("c2", 60 * BAR, noise_pa=0.02 * BAR),
)
"""Five transducers in the order in which the board sends them; the engine's speed comes last."""
VOLTS = 5.0


class Rig:
    """Turns what the ports see into what the board says. Noise is drawn from `seed`."""

    def __init__(self, probes: tuple[Probe, ...] = STANDARD, seed: int = 1) -> None:
        self.probes = probes
        self._random = np.random.default_rng(seed)
        self._felt: list[float] | None = None
        self._last_s = 0.0

    def sample(self, reading: Reading, time_s: float) -> list[float]:
        """Volts of each probe, then rpm. Instants never go back."""
        ports = (
            reading.pilot, reading.main[0], reading.control[0], reading.main[1], reading.control[1],
        )  # fmt: skip
        noise = self._random.standard_normal(len(self.probes) + 1)
        if self._felt is None:
            self._felt = list(ports)
        row = []
        for k, (probe, port) in enumerate(zip(self.probes, ports, strict=True)):
            follow = 1 - float(np.exp((self._last_s - time_s) / probe.lag_s))
            felt = self._felt[k] + (port - self._felt[k]) * follow
            self._felt[k] = felt
            shown = felt * probe.gain + probe.zero_pa + probe.noise_pa * float(noise[k])
            volts = 0.5 + 4.0 * shown / probe.range_pa
            top = 2**probe.bits - 1
            counts = max(0, min(top, round(volts / VOLTS * top)))
            row.append(counts * VOLTS / top)
        row.append(round((reading.rpm + 1.5 * float(noise[-1])) * 8) / 8)
        self._last_s = time_s
        return row
