"""Figures of one step-like waveform, in the terms of IEEE Std 181.

Pure functions of arrays: `times` (s, increasing) and `values` (any unit), both of shape (n,) and
finite. Instants are interpolated between samples on a straight line, so that they do not depend on
where the samples fall. Levels are given by the caller, who knows what was held; `state_levels` is
for a waveform of which nothing is known.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.model.arrays import F64


@dataclass(frozen=True, slots=True)
class Levels:
    """The two state levels of a transition, in the unit of the values."""

    low: float
    high: float

    @property
    def step(self) -> float:
        """high − low."""
        return self.high - self.low

    def at(self, share: float) -> float:
        """The reference level at a share (0 to 1) of the step: 0.5 is the mid-reference level."""
        return self.low + share * self.step


def state_levels(values: F64, bins: int = 100) -> Levels:
    """The levels at which a two-level waveform spends its time.

    The modes of the lower and the upper half of the values' histogram, each the middle of its
    fullest bin (the first of equals), after the histogram method of IEEE Std 181. Accurate to half
    a bin. Raises `ValueError` where there are no values, or all are one.
    """
    if not len(values) or float(np.ptp(values)) == 0.0:
        raise ValueError("state levels need values that differ")
    counts, edges = np.histogram(values, bins)
    middles = (edges[:-1] + edges[1:]) / 2
    half = bins // 2
    low = middles[int(np.argmax(counts[:half]))]
    high = middles[half + int(np.argmax(counts[half:]))]
    return Levels(float(low), float(high))


def crossings(times: F64, values: F64, level: float, *, upward: bool) -> F64:
    """The instants (s) at which the waveform crosses a level in one direction, in order."""
    above = values >= level
    before = np.flatnonzero(above[1:] & ~above[:-1] if upward else above[:-1] & ~above[1:])
    rise = values[before + 1] - values[before]
    share = (level - values[before]) / rise
    return np.asarray(times[before] + share * (times[before + 1] - times[before]), np.float64)


def transition(
    times: F64, values: F64, levels: Levels, shares: tuple[float, float] = (0.1, 0.9)
) -> float | None:
    """The transition duration (s) between two reference levels; None where one is not crossed.

    It counts from the last crossing of the first level before the first crossing of the second.
    For a transition downwards give `Levels(low=the end, high=the start)` and the shares (0.9, 0.1).
    """
    upward = shares[1] > shares[0]
    ends = crossings(times, values, levels.at(shares[1]), upward=upward)
    starts = crossings(times, values, levels.at(shares[0]), upward=upward)
    if not len(ends) or not len(starts) or starts[0] > ends[0]:
        return None
    return float(ends[0] - starts[starts <= ends[0]][-1])


def overshoot_pct(peak: float, levels: Levels) -> float:
    """How far a peak lies above the high level, in % of the step. Raises where there is no step."""
    if levels.step == 0.0:
        raise ValueError("overshoot needs a step")
    return 100.0 * (peak - levels.high) / levels.step


def last_entry(times: F64, values: F64, middle: float, half_width: float) -> float | None:
    """The instant (s) from which the waveform stays within middle ± half_width to its last sample.

    None where the last sample lies outside; the first time where no sample does.
    """
    outside = np.flatnonzero(np.abs(values - middle) > half_width)
    if not len(outside):
        return float(times[0])
    last = int(outside[-1])
    if last == len(values) - 1:
        return None
    edge = middle + half_width if values[last] > middle else middle - half_width
    share = (edge - values[last]) / (values[last + 1] - values[last])
    return float(times[last] + share * (times[last + 1] - times[last]))


def settling(
    times: F64, values: F64, levels: Levels, half_width: float, from_s: float | None = None
) -> float | None:
    """The settling time (s): from an instant until the waveform stays within high ± half_width.

    from_s: by default the last upward crossing of the mid-reference level. IEEE Std 181 counts
    from there, with half_width a share of the step; a gauge is read to a share of the high level.
    None where the middle is not crossed or the waveform does not settle.
    """
    if from_s is None:
        middle = crossings(times, values, levels.at(0.5), upward=True)
        if not len(middle):
            return None
        from_s = float(middle[-1])
    entry = last_entry(times, values, levels.high, half_width)
    return None if entry is None else max(0.0, entry - from_s)


def parabolic_peak(values: F64, index: int) -> tuple[float, float]:
    """Position (in samples) and height of the parabola through a sample and its two neighbours.

    Raises `ValueError` at either end of the array and where the three samples lie on a line.
    """
    if not 0 < index < len(values) - 1:
        raise ValueError("a parabola needs a neighbour on either side")
    before, at, after = (float(v) for v in values[index - 1 : index + 2])
    bend = before - 2 * at + after
    if bend == 0.0:
        raise ValueError("three samples on a line have no peak")
    shift = (before - after) / (2 * bend)
    return index + shift, at - (before - after) * shift / 4


def lag_samples(first: F64, second: F64, *, of_steps: bool = True) -> float:
    """By how many samples `second` follows `first`, to a fraction of a sample.

    Both of shape (n,), taken at the same even instants. The peak of the cross-correlation, refined
    by a parabola; the means are not taken off, which would pull the lag towards zero. of_steps: the
    slopes are correlated, since two steps correlate best where they do not move at all.
    Raises `ValueError` where the lengths differ or there are fewer than eight samples.
    """
    if len(first) != len(second) or len(first) < 8:
        raise ValueError("a lag needs two waveforms of one length, eight samples or more")
    one, two = (np.gradient(first), np.gradient(second)) if of_steps else (first, second)
    count = len(one)
    size = 1 << (2 * count - 1).bit_length()
    spectrum = np.fft.rfft(two, size) * np.conj(np.fft.rfft(one, size))
    product = np.fft.irfft(spectrum, size)
    correlation = np.concatenate((product[-(count - 1) :], product[:count]))
    position, _ = parabolic_peak(correlation, int(np.argmax(correlation)))
    return position - (count - 1)


def alias_hz(frequency_hz: float, rate_hz: float) -> float:
    """Where a frequency shows in samples taken at a rate, Hz: |f − rate · round(f / rate)|."""
    return abs(frequency_hz - rate_hz * round(frequency_hz / rate_hz))
