"""The kit on the machine: transducers, their electrical signal, and the converter behind them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp
from random import Random

import numpy as np

from gaugebench.simulate.machine import Reading
from gaugebench.simulate.plant import BAR

VOLTS = 5.0
"""Full scale of the converter."""
_OFF_V = 0.02
"""What a converter reads with the wire off and its input pulled down."""
_MEMORY = 0.2
"""Share of its range over which a transducer forgets where its pressure came from."""
_SLOW_RPM, _LEAST_SCATTER = 200.0, 0.1
"""Slower than any idle: below it the scatter of the speed goes with the speed, down to a tenth."""
_OPEN_S = 0.05
"""How long a loose contact stays open in the mean."""


@dataclass(frozen=True, slots=True)
class Probe:
    """One pressure transducer, 0.5–4.5 V over 0 to `range_pa`, behind a converter of 0–5 V.

    class_pct: its stated accuracy, % of full scale. zero_pa, gain, drift_pa_s: what is wrong with
    it; bow_pa: how far it stands off the straight line in the middle of its range; hysteresis_pa:
    by how much it reads low on a long way up, and high on a long way down. noise_pa: rms. lag_s:
    first order, hose, cable and filter together. bits: of the converter. is_off: the wire hangs
    loose. is_shorted: the wire touches the supply. loose: share of time for which a contact opens.
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
    class_pct: float = 0.5
    bow_pa: float = 0.0
    hysteresis_pa: float = 0.0
    is_shorted: bool = False
    loose: float = 0.0

    def shown(self, pressure_pa: float, way: float = 0.0, time_s: float = 0.0) -> float:
        """What it makes of a pressure, without lag and noise.

        way: +1 after a long way up, −1 after a long way down (see `Rig`).
        """
        share = pressure_pa / self.range_pa
        bent = 4 * self.bow_pa * share * (1 - share) - self.hysteresis_pa * way
        return pressure_pa * self.gain + self.zero_pa + self.drift_pa_s * time_s + bent


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
    """Turns what the ports see into what the board says. Noise is drawn from `seed`.

    A transducer remembers the way that its pressure took: the memory moves towards +1 or −1 with
    the pressure passed through, by 1/e over a fifth of its range, so that ripple leaves it alone.
    """

    def __init__(self, rigging: Rigging | None = None, seed: int = 1) -> None:
        self.rigging = rigging or Rigging()
        self._random = np.random.default_rng(seed)
        self._noise: list[list[float]] = []
        self._felt: list[float] | None = None
        self._last_s = 0.0
        self._elapsed = -1.0
        self._follow: list[float] = []
        self._way = [0.0] * len(self.rigging.probes)
        self._contacts = [_Contact(p.loose, seed + k) for k, p in enumerate(self.rigging.probes)]

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
            moved = (seen[k] - self._felt[k]) * self._follow[k]
            self._felt[k] = felt = self._felt[k] + moved
            if probe.hysteresis_pa:
                way = self._way[k]
                passed = min(abs(moved) / (_MEMORY * probe.range_pa), 1.0)
                self._way[k] = way + ((1.0 if moved > 0 else -1.0) - way) * passed
            shown = probe.shown(felt, self._way[k], time_s)
            volts = 0.5 + 4.0 * (shown + probe.noise_pa * noise[k]) / probe.range_pa
            if probe.is_shorted:
                volts = VOLTS
            elif probe.is_off or (probe.loose and self._contacts[k].is_open(time_s)):
                volts = _OFF_V + 1e-4 * noise[k]
            top = 2**probe.bits - 1
            row.append(max(0, min(top, round(volts / VOLTS * top))) * VOLTS / top)
        # A pick-up counts teeth: where the engine stands there is next to nothing to scatter.
        share = min(1.0, _LEAST_SCATTER + reading.rpm / _SLOW_RPM)
        speed = max(0.0, reading.rpm + self.rigging.speed_noise_rpm * share * noise[-1])
        row.append(round(speed * 8) / 8)
        self._last_s = time_s
        return row


class _Contact:
    """A contact that opens for a twentieth of a second at a time, `share` of the time."""

    def __init__(self, share: float, seed: int) -> None:
        self._random = Random(seed)  # noqa: S311 - a draw, no secret
        self._share = share
        self._is_open, self._until_s = False, 0.0

    def is_open(self, time_s: float) -> bool:
        """Whether it is open. Instants never go back."""
        while time_s >= self._until_s:
            if self._until_s:
                self._is_open = not self._is_open
            mean_s = _OPEN_S if self._is_open else _OPEN_S * (1 - self._share) / self._share
            self._until_s += self._random.expovariate(1 / mean_s)
        return self._is_open


def drawn(rigging: Rigging, seed: int) -> Rigging:
    """The same kit of transducers as they come: each with errors of its own within its class.

    Zero, gain, bow and hysteresis have equal parts of it (standard deviation a quarter of the
    class), drawn anew until the transducer keeps its class everywhere in its range on the way up
    and on the way down. Drift: a twentieth of the class an hour. Lag and noise scatter by a fifth
    about their usual size. The parts are common practice, no source.
    """
    random = Random(seed)  # noqa: S311 - a draw, no secret
    return replace(rigging, probes=tuple(_drawn(probe, random) for probe in rigging.probes))


def _drawn(probe: Probe, random: Random) -> Probe:
    most = probe.class_pct / 100 * probe.range_pa
    while True:
        zero, gain, bow, hysteresis = (random.gauss(0.0, most / 4) for _ in range(4))
        made = replace(
            probe,
            zero_pa=probe.zero_pa + zero,
            gain=probe.gain * (1 + gain / probe.range_pa),
            bow_pa=bow,
            hysteresis_pa=abs(hysteresis),
            drift_pa_s=random.gauss(0.0, most / 20 / 3600),
            lag_s=probe.lag_s * random.lognormvariate(0.0, 0.2),
            noise_pa=probe.noise_pa * random.lognormvariate(0.0, 0.2),
        )
        points = [k / 10 * probe.range_pa for k in range(11)]
        if max(abs(made.shown(p, way) - p) for p in points for way in (-1.0, 1.0)) <= most:
            return made
