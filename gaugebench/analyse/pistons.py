"""Engine speed from a pump's ripple, where there is no speed channel and the rate allows it."""

from __future__ import annotations

import math

import numpy as np

from gaugebench.analyse import hydraulics
from gaugebench.analyse.budget import Budget
from gaugebench.analyse.waveform import alias_hz, parabolic_peak
from gaugebench.model.arrays import F64
from gaugebench.model.figures import Absent, Answer, Window
from gaugebench.model.saying import Saying, fixed

_LEAST = 128
"""Fewer samples give no spectrum to read a speed from."""
_STANDS_OUT = 6.0
"""A line is so many times the median of its surroundings, or it is none."""
_PIECES = 4
_PADDING = 8


def speed_from_ripple(
    times: F64,
    values: F64,
    pistons: int | None,
    *,
    drive_ratio: float = 1.0,
    slowest_rpm: float = 700.0,
    fastest_rpm: float = 2500.0,
) -> Answer:
    """The mean engine speed (rpm) over a steady stretch of a main pressure, with its uncertainty.

    times, values: shape (n,), s and Pa, evenly sampled without gaps. pistons: of the pump, from the
    sheet. drive_ratio: pump turns for one engine turn. slowest_rpm, fastest_rpm: between which the
    engine can be. The line at pistons × rpm × ratio / 60 is looked for, which a measured pressure
    shows strongest (the kinematic flow ripple of an odd pump is at twice that).

    Refused where the rate is too low: a line beyond half the rate would show elsewhere (aliased).
    """
    if pistons is None or pistons < 1:
        return Absent("The sheet does not state the pump's number of pistons.")
    count = len(values)
    if count < _LEAST or not np.all(np.isfinite(values)):
        return Absent("The hold has too few samples without a gap to read a speed from the ripple.")
    interval = float(times[-1] - times[0]) / (count - 1)
    rate = 1.0 / interval
    if float(np.max(np.diff(times))) > 1.5 * interval:
        return Absent("The samples are not even in time, so the ripple's frequency cannot be read.")
    low = hydraulics.piston_hz(pistons, slowest_rpm * drive_ratio)
    high = hydraulics.piston_hz(pistons, fastest_rpm * drive_ratio)
    if 2 * high >= 0.98 * rate:
        return Absent(
            Saying(
                "The ripple is aliased: it may be as fast as {high} Hz, and at {rate} samples a "
                "second nothing beyond half of that can be told from something slower.",
                high=fixed(high),
                rate=fixed(rate),
            )
        )
    line = _line(values, rate, low, high)
    if line is None:
        return Absent("No ripple of the pump stands out from the noise.")
    frequency, amplitude, noise = line
    if _is_echo(values, rate, frequency, low, high):
        return Absent("The strongest line may be a faster ripple that is aliased.")
    to_rpm = 60.0 / (pistons * drive_ratio)
    bound = _bound(amplitude, noise, count, rate)
    wander = _wander(values, rate, frequency)
    budget = Budget({}).plus({"line in the spectrum": to_rpm * bound, "wander": to_rpm * wander})
    window = Window(float(times[0]), float(times[-1]), count)
    return budget.figure(to_rpm * frequency, "rpm", window)


def _spectrum(values: F64, rate: float) -> tuple[F64, float]:
    """Amplitudes (a sine of amplitude A shows as A) and the spacing of their frequencies, Hz."""
    count = len(values)
    rest = values - np.polynomial.Polynomial.fit(np.arange(count), values, 1)(np.arange(count))
    window = np.hanning(count)
    size = 1 << (_PADDING * count - 1).bit_length()
    amplitudes = 2 * np.abs(np.fft.rfft(rest * window, size)) / float(np.sum(window))
    return np.asarray(amplitudes, np.float64), rate / size


def _line(values: F64, rate: float, low: float, high: float) -> tuple[float, float, float] | None:
    """Frequency (Hz) and amplitude of the strongest line between two frequencies, and the noise.

    The noise is the standard deviation of single samples that a white spectrum of the same median
    would have. None where no line stands out.
    """
    amplitudes, spacing = _spectrum(values, rate)
    first, last = math.ceil(low / spacing), math.floor(high / spacing)
    band = amplitudes[first : last + 1]
    at = first + int(np.argmax(band))
    usual = float(np.median(amplitudes[first // 2 :]))
    if at in {first, last} or amplitudes[at] < _STANDS_OUT * usual:
        return None
    position, amplitude = parabolic_peak(amplitudes, at)
    # The median of a Rayleigh-distributed amplitude is 1.18 of its scale; Hann: 1.5 bins of noise
    noise = usual / 1.177 * math.sqrt(len(values) / 1.5) / math.sqrt(2)
    return position * spacing, amplitude, noise


def _is_echo(values: F64, rate: float, frequency: float, low: float, high: float) -> bool:
    """Whether the line may be the alias of twice another line that is there as well."""
    amplitudes, spacing = _spectrum(values, rate)
    usual = float(np.median(amplitudes))
    for folded in (rate - frequency, rate + frequency):
        half = folded / 2
        if not low <= half <= high or abs(half - frequency) < 4 * rate / len(values):
            continue
        at = round(half / spacing)
        near = amplitudes[max(0, at - _PADDING) : at + _PADDING + 1]
        if len(near) and float(np.max(near)) > _STANDS_OUT * usual:
            return abs(alias_hz(2 * half, rate) - frequency) < 2 * rate / len(values)
    return False


def _bound(amplitude: float, noise: float, count: int, rate: float) -> float:
    """Standard uncertainty (Hz) of a sine's frequency in white noise, under a Hann window.

    The Cramér–Rao bound of the angular frequency is √(24 σ² / (A² n³)) a sample (D. C. Rife and
    R. R. Boorstyn, IEEE Transactions on Information Theory 20, 1974, from memory); the window costs
    another factor of about 1.5.
    """
    ratio = noise / amplitude
    return 1.5 * rate / (2 * math.pi) * math.sqrt(24.0 * ratio**2 / count**3)


def _wander(values: F64, rate: float, frequency: float) -> float:
    """Standard uncertainty (Hz) of the mean that the speed's own wander leaves, by quarters."""
    size = len(values) // _PIECES
    found = []
    for piece in values[: size * _PIECES].reshape(_PIECES, size):
        near = 4 * rate / size
        line = _line(piece, rate, max(0.0, frequency - near), min(rate / 2, frequency + near))
        if line is not None:
            found.append(line[0])
    if len(found) < 2:
        return rate / len(values) / math.sqrt(12)
    return float(np.std(found, ddof=1)) / math.sqrt(len(found))
