"""Where a push began whose load was too light to be seen in the main pressure.

A light actuator travels at a pressure hardly above idle: the excursion that the segmenter sees is
only that against the stop. The lever was moved before, and the control pressure tells when: it left
one level, stands at another, and goes no further when the main pressure rises. A push straight
against a stop is told from that because there the control pressure moves with the rise itself.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gaugebench.analyse.hold import Hold
from gaugebench.analyse.samples import Samples
from gaugebench.analyse.track import PumpSpan
from gaugebench.model.arrays import F64

BIN_S = 0.05
STANDS_S = 0.3
"""Both levels of the control pressure must be seen for so long."""
LEAST_PA = 3e5
"""A lever moves its control pressure by more than this: 25 bar and more from neutral to full
(common practice, no source); a change of engine speed under no load moves it by a bar or two."""
STAYS_SHARE = 0.25
"""Of the way between the levels, what it may still move by when main is half-way up."""


@dataclass(frozen=True, slots=True)
class Push:
    """span: from where the push began; its `base_pa` is the idle level before. is_light: an
    actuator travelled before the excursion that the segmenter saw."""

    span: PumpSpan
    is_light: bool = False


def push_of(main: Samples, control: Samples | None, span: PumpSpan, hold: Hold) -> Push:
    """The push that ends in a hold; that of the segmenter where no light travel is seen: the
    control pressure stood still before the rise, or moves with it."""
    if control is None or span.cut_start or not len(control):
        return Push(span)
    light = _light(main, control, span, hold)
    return Push(span) if light is None else Push(light, is_light=True)


def _light(main: Samples, control: Samples, span: PumpSpan, hold: Hold) -> PumpSpan | None:
    begins, levels = _bins(control, float(control.times[0]), span.start_s)
    need = round(STANDS_S / BIN_S)
    if len(levels) < 2 * need:
        return None
    noise = control.noise / np.sqrt(max(1.0, BIN_S / control.interval_s))
    now = float(np.median(levels[-need:]))
    stands = max(6 * noise, 0.15 * LEAST_PA)
    if float(np.max(np.abs(levels[-need:] - now))) > stands:
        return None
    away = np.flatnonzero(np.abs(levels - now) > stands)
    stop = _stood_until(levels, int(away[-1]) + 1 if len(away) else 0, need, stands)
    if stop is None:
        return None
    earlier = float(np.median(levels[stop - need : stop]))
    way = now - earlier
    if abs(way) < max(LEAST_PA, 12 * noise) or _moves_on(main, control, span, hold, now, way):
        return None
    began_s = _departs(control, float(begins[stop - 1]), earlier, way)
    idle = main.part(float(begins[stop - need]), began_s)
    if len(idle) < 3:
        return None
    base = float(np.mean(idle.values))
    # After a push the pressure would come down to this level, not up to it.
    travel = main.part(span.start_s - STANDS_S, span.start_s - BIN_S)
    if not len(travel) or float(np.mean(travel.values)) < base - 3 * main.noise:
        return None
    return replace(span, start_s=began_s, base_pa=base)


def _departs(control: Samples, from_s: float, level: float, way: float) -> float:
    """When the control pressure leaves a level, s: the straight way to the next carried back."""
    part = control.part(from_s, from_s + 2.0)
    gone = (part.values - level) / way
    high = int(np.argmax(gone >= 0.6)) if len(part) else 0
    low = np.flatnonzero(gone[:high] < 0.15)
    first = int(low[-1]) + 1 if len(low) else 0
    if high - first < 3:
        return float(part.times[max(first - 1, 0)]) if len(part) else from_s
    slope, offset = np.polyfit(part.times[first:high] - from_s, gone[first:high], 1)
    return max(from_s, from_s - float(offset / slope)) if slope > 0 else from_s


def _stood_until(levels: F64, stop: int, need: int, stands: float) -> int | None:
    """The end of the last `need` bins before `stop` that stand at one level, or None."""
    for end in range(stop, need - 1, -1):
        part = levels[end - need : end]
        if float(np.ptp(part)) <= stands:
            return end
    return None


def _moves_on(
    main: Samples, control: Samples, span: PumpSpan, hold: Hold, now: float, way: float
) -> bool:
    """Whether the control pressure moves on with the rise: then the lever is pushed only there."""
    half = span.base_pa + 0.5 * (hold.level - span.base_pa)
    rise = main.part(span.start_s - BIN_S, hold.end_s)
    high = np.flatnonzero(rise.values >= half)
    if not len(high):
        return True
    near = control.part(span.start_s - BIN_S, float(rise.times[high[0]]) + control.interval_s)
    if not len(near):
        return True
    moved = near.values - now
    return bool(np.max(np.abs(moved)) > max(STAYS_SHARE * abs(way), 6 * control.noise))


def _bins(samples: Samples, start_s: float, end_s: float) -> tuple[F64, F64]:
    """Where bins of `BIN_S` that end at `end_s` begin, and their means; empty bins are left out."""
    count = max(0, int((end_s - start_s) / BIN_S))
    begins = end_s - BIN_S * np.arange(count, 0, -1, dtype=np.float64)
    edges = np.searchsorted(samples.times, np.append(begins, end_s))
    sizes = np.diff(edges)
    total = np.concatenate(([0.0], np.cumsum(samples.values)))
    filled = sizes > 0
    means: F64 = np.diff(total[edges])[filled] / sizes[filled]
    return begins[filled], means
