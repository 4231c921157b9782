"""The settle time: from t50 until the pressure stays within a band about settled up to the drop.

The last time at which a pressure leaves a band never comes earlier for a narrower band nor later
for a wider one. How sure it is follows from that without a slope: the uncertainty of the smoothed
pressure against the band's edge, times two, is taken from the band and added to it, and the farther
of the two instants so found is the end of the k = 2 interval. Where the pressure creeps into the
band, or turns back just short of its edge, that lies far off, as it must; where it crosses straight
it is the noise over the slope (JCGM 100 5.1.3, note 2).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse import budget, uncertainty
from gaugebench.analyse.hold import Hold
from gaugebench.analyse.rise import Rise
from gaugebench.analyse.samples import Samples, smoothed
from gaugebench.model.arrays import F64
from gaugebench.model.figures import Absent

STILL = 0.6
"""The pressure is smoothed at least so far that the steady hold stays within this share of the
band; and further as long as that makes the instant surer."""
SWINGS = "The pressure does not stay within the band: it swings by more in the hold."
WIDTHS_S = (0.004, 0.008, 0.015, 0.03, 0.06, 0.12)


@dataclass(frozen=True, slots=True)
class Settling:
    """seconds from t50; parts: standard deviations by name, s."""

    seconds: float
    parts: dict[str, float]

    @property
    def sd(self) -> float:
        """The standard uncertainty, s."""
        return float(np.linalg.norm(list(self.parts.values())))


def settle_time(
    samples: Samples, rise: Rise, hold: Hold, share: float, level_sd: float = 0.0
) -> Settling | Absent:
    """Time from t50 until the pressure stays within ± share of settled up to the drop.

    level_sd: standard uncertainty of the settled pressure from its samples, Pa.
    """
    part = samples.part(rise.foot_s, hold.end_s)
    band = share * abs(hold.level)
    held = part.times >= hold.start_s
    best: Settling | None = None
    for width_s in WIDTHS_S:
        off = smoothed(part.values, max(1, round(width_s / part.interval_s))) - hold.level
        still = held.any() and float(np.max(np.abs(off[held]))) < STILL * band
        if not still and width_s < WIDTHS_S[-1]:
            continue
        left = float(np.std(off[held])) if held.any() else 0.0
        last = _last_out(off, band)
        if last is not None and float(part.times[last]) >= (hold.start_s + hold.end_s) / 2:
            return best or Absent(SWINGS)
        found = _settled(part, off, band, float(np.hypot(left, level_sd)), rise)
        found.parts["smoothing"] = width_s / 6
        if best is not None and found.sd >= best.sd:
            break
        best = found
    return best or Absent(SWINGS)


def _settled(part: Samples, off: F64, band: float, sd: float, rise: Rise) -> Settling:
    """The settle time of a smoothed pressure. off: how far it stands from settled, Pa; sd: how sure
    that is, Pa."""
    # No further than to where the hold itself would leave the narrower band.
    reach = min(uncertainty.K * sd, (1 - STILL) * band)
    last, first = _last_out(off, band), _last_out(off, band + reach)
    at = rise.t50_s if last is None else _entry(part.times, off, band, last)
    if last is not None and first is not None and _creeps(off[first : last + 1]):
        # Noise takes it out again: as long as it is outside in all, it has not settled; the very
        # last sample outside would come too late.
        outside = int(np.sum(np.abs(off[first + 1 : last + 1]) > band))
        if outside < last - first:
            at = float(part.times[first] + (outside + 0.5) * part.interval_s)
    early = rise.t50_s if first is None else _entry(part.times, off, band + reach, first)
    after = _last_out(off, band - reach)
    late = at if after is None else _entry(part.times, off, band - reach, after)
    at, early, late = (max(instant, rise.t50_s) for instant in (at, early, late))
    parts = {
        budget.NOISE_OVER_SLOPE: max(at - early, late - at) / uncertainty.K,
        budget.TIME: uncertainty.resolution(part.interval_s),
        **rise.t50_parts,
    }
    return Settling(at - rise.t50_s, parts)


def _last_out(off: F64, band: float) -> int | None:
    """Index of the last sample outside ± band, that is not the very last; None where none is."""
    out = np.flatnonzero(np.abs(off[:-1]) > band)
    return int(out[-1]) if len(out) else None


def _creeps(off: F64) -> bool:
    """Whether the pressure stays on one side of settled all the while."""
    return bool(np.all(off > 0) or np.all(off < 0))


def _entry(times: F64, off: F64, band: float, last: int) -> float:
    """When a straight line from a sample outside ± band to the next one inside enters it, s."""
    a, b = float(off[last]), float(off[last + 1])
    edge = band if a > 0 else -band
    share = min(1.0, (edge - a) / (b - a)) if b != a else 0.5
    return float(times[last] + share * (times[last + 1] - times[last]))
