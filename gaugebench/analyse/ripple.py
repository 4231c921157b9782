"""The pump's ripple in a hold: how large it is, and at which (perhaps aliased) frequency."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse.fit import least_squares
from gaugebench.model.arrays import F64


@dataclass(frozen=True, slots=True)
class Ripple:
    """peak_to_peak, rms: Pa, about the settled level. line_hz: the strongest line in the spectrum
    where one stands out, as it shows in the samples (aliased where the rate is too low); its
    amplitude is `line`, Pa. Both are 0 where none stands out."""

    peak_to_peak: float
    rms: float
    line_hz: float
    line: float


LINE_SHARE = 0.25
"""A line stands out where it holds at least this share of the variance."""


def ripple_of(times: F64, values: F64) -> Ripple | None:
    """The ripple of a steady pressure (at least 16 samples), or None.

    Times need not be even: the spectrum is searched on the mean interval, and the line then fitted
    to the true times.
    """
    n = len(values)
    if n < 16:
        return None
    rest = values - np.mean(values)
    slope = np.polyfit(times - times[0], rest, 1)
    rest = rest - np.polyval(slope, times - times[0])
    variance = float(np.mean(rest * rest))
    peak_to_peak, rms = float(np.ptp(rest)), float(np.sqrt(variance))
    if variance == 0.0:
        return Ripple(0.0, 0.0, 0.0, 0.0)
    interval = float(times[-1] - times[0]) / (n - 1)
    size = 1 << (2 * n - 1).bit_length()
    power = np.abs(np.fft.rfft(rest * np.hanning(n), size))
    low = max(1, int(2 * size / n))
    top = low + int(np.argmax(power[low:]))
    shift = 0.0
    if low < top < len(power) - 1:
        a, b, c = power[top - 1 : top + 2]
        shift = float(0.5 * (a - c) / (a - 2 * b + c)) if a - 2 * b + c else 0.0
    frequency = (top + shift) / (size * interval)
    angle = 2 * np.pi * frequency * (times - times[0])
    basis = np.column_stack((np.cos(angle), np.sin(angle)))
    fit = least_squares(basis, rest)[0]
    line = float(np.hypot(*fit))
    # Near half the rate sine and cosine say the same, and a fit may give what is not there.
    if not LINE_SHARE * variance <= line * line / 2 <= 1.5 * variance:
        return Ripple(peak_to_peak, rms, 0.0, 0.0)
    return Ripple(peak_to_peak, rms, float(frequency), line)
