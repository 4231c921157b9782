"""Samples of one channel round a loading, cleaned as far as a figure may clean them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gaugebench.model.arrays import F64, U16
from gaugebench.model.quality import UNUSABLE, Quality
from gaugebench.model.saying import Saying, fixed
from gaugebench.model.trace import Series


@dataclass(frozen=True, slots=True, eq=False)
class Samples:
    """Usable samples of one channel in a window, in order of time.

    times: shape (n,), s. raw: shape (n,), as recorded. values: the same with lone spikes taken out.
    quality: shape (n,). noise: standard deviation of a sample about its neighbours (ripple too).
    interval_s: the usual time between samples; NaN where there are fewer than two.
    """

    times: F64
    raw: F64
    values: F64
    quality: U16
    noise: float
    interval_s: float

    def __len__(self) -> int:
        return len(self.times)

    def part(self, start_s: float, end_s: float) -> Samples:
        """The samples with start_s <= time < end_s."""
        low, high = np.searchsorted(self.times, (start_s, end_s))
        return self.cut(int(low), int(high))

    def cut(self, low: int, high: int) -> Samples:
        """The samples with low <= index < high."""
        kept = slice(low, high)
        return replace(
            self,
            times=self.times[kept],
            raw=self.raw[kept],
            values=self.values[kept],
            quality=self.quality[kept],
        )

    def gaps(self, start_s: float, end_s: float) -> list[tuple[float, float]]:
        """Stretches without samples, longer than two and a half intervals, that meet the window."""
        low, high = np.searchsorted(self.times, (start_s, end_s))
        low, high = max(int(low) - 1, 0), min(int(high) + 1, len(self.times))
        times = self.times[low:high]
        wide = np.flatnonzero(np.diff(times) > 2.5 * self.interval_s)
        return [(float(times[i]), float(times[i + 1])) for i in wide]

    def has_clock(self, start_s: float, end_s: float) -> bool:
        """Whether the device timed the samples of a stretch itself."""
        part = self.part(start_s, end_s)
        return not bool(np.any(part.quality & int(Quality.TIME_ESTIMATED)))

    def cautions(self, start_s: float, end_s: float) -> tuple[str, ...]:
        """Reasons not to rely on a figure taken from the window, each a sentence."""
        said: list[str] = [
            Saying(
                "Samples are missing from {start} s to {end} s.", start=fixed(a, 3), end=fixed(b, 3)
            )
            for a, b in self.gaps(start_s, end_s)[:1]
        ]
        part = self.part(start_s, end_s)
        bits = int(np.bitwise_or.reduce(part.quality)) if len(part) else 0
        said += [text for bit, text in _SAID if bits & bit]
        return tuple(said)


NO_CLOCK = (
    "The device has no clock, and its samples arrive in bursts: their instants are guesses, some "
    "milliseconds off, so that nothing this short can be timed."
)
_SAID = (
    (Quality.CLIPPED, "The converter stands at its end of scale; the true value lies beyond."),
    (Quality.OVER_RANGE, "The pressure is above the transducer's range."),
    (Quality.UNDER_RANGE, "The pressure is below the transducer's range."),
    (Quality.SETTLING, "The device had just been reset."),
    (Quality.SUSPECT, "The signal is outside its good band."),
    (Quality.TIME_ESTIMATED, "The device has no clock; the instants are estimated."),
)


def samples_of(series: Series, start_s: float, end_s: float) -> Samples:
    """The usable samples of a series with start_s <= time < end_s."""
    part = series.between(start_s, end_s)
    good = np.isfinite(part.values) & ((part.quality & int(UNUSABLE)) == 0)
    times, raw = part.times[good], part.values[good]
    interval = float(np.median(np.diff(times))) if len(times) > 1 else float("nan")
    noise = sample_noise(raw)
    return Samples(times, raw, despiked(raw, noise), part.quality[good], noise, interval)


def sample_noise(values: F64) -> float:
    """Standard deviation of a sample about the straight line through its two neighbours.

    From the median absolute second difference, so that a rise or a spike does not count;
    √6 and 0.6745 turn it into the deviation of independent normal noise.
    """
    if len(values) < 5:
        return 0.0
    bend = np.abs(np.diff(values, 2))
    return float(np.median(bend)) / 0.6745 / float(np.sqrt(6.0))


def despiked(values: F64, noise: float) -> F64:
    """A copy in which spikes of one to three samples are replaced by their neighbours' line.

    A spike leaves and comes back: the samples on both sides agree with each other, and it stands
    out from both by far more than the noise and than their own difference. The top of a real
    overshoot does not come back to where it rose from, and stays.
    """
    found = values.copy()
    n = len(values)
    for width in (1, 2, 3):
        if n < width + 4:
            break
        left, right = found[: n - width - 1], found[width + 1 :]
        step = np.abs(right - left)
        middle = np.stack([found[1 + k : n - width + k] for k in range(width)])
        line = (left + right) / 2
        out = np.min(np.abs(middle - line), axis=0)
        one_side = np.all(middle > line, axis=0) | np.all(middle < line, axis=0)
        hit = np.flatnonzero(one_side & (out > 12 * noise) & (out > 5 * step))
        for start in hit:
            share = np.arange(1, width + 1) / (width + 1)
            a, b = found[start], found[start + width + 1]
            found[start + 1 : start + 1 + width] = a + share * (b - a)
    return found


def smoothed(values: F64, count: int) -> F64:
    """Centred moving mean over `count` samples (made odd); shorter at both ends."""
    half = max(0, (count - 1) // 2)
    n = len(values)
    if half == 0 or n == 0:
        return values.copy()
    total = np.concatenate(([0.0], np.cumsum(values - values[0])))
    index = np.arange(n)
    reach = np.minimum(np.minimum(index, n - 1 - index), half)
    mean: F64 = (total[index + reach + 1] - total[index - reach]) / (2 * reach + 1) + values[0]
    return mean
