"""What makes up the uncertainty of a pressure figure, as parts by name (k = 1, after JCGM 100).

The parts go into `model.figures.Figure.parts`; the k = 2 half-width of uncorrelated parts is
`uncertainty.expanded`. All pressures in Pa, times in s.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from gaugebench.analyse import uncertainty
from gaugebench.model.arrays import F64
from gaugebench.model.channel import Channel
from gaugebench.model.figures import Absent, Answer, Figure, Window
from gaugebench.model.saying import Saying

ACCURACY = "transducer accuracy"
STEP = "converter step"
ZERO = "zero"
NOISE = "noise of the mean"
RIPPLE = "ripple"
TIME = "time resolution"
SKEW = "channel skew"
NOISE_OVER_SLOPE = "noise over slope"
LEVELS = "levels over slope"
RECORD_LAG = "lag of the record"
TREND = "trend"
HYSTERESIS = "hysteresis"

ACCURACY_UNKNOWN = (
    "The transducer's accuracy is not stated, so its share is missing from the uncertainty."
)
"""The caution of a figure whose uncertainty is a lower bound; no verdict rests on it."""

_BATCHES = 16


def for_verdict(figure: Figure) -> float | None:
    """The k = 2 half-width that a verdict may rest on; None where it leaves the transducer out."""
    return None if ACCURACY_UNKNOWN in figure.cautions else figure.expanded


@dataclass(frozen=True, slots=True)
class Budget:
    """Standard uncertainties (k = 1) by name, and what must be said with them."""

    parts: Mapping[str, float] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()

    def figure(self, value: float, unit: str = "Pa", window: Window | None = None) -> Figure:
        """The value with this budget: parts, k = 2 half-width and cautions."""
        return Figure(
            value=value,
            unit=unit,
            expanded=uncertainty.expanded(self.parts),
            parts=dict(self.parts),
            window=window,
            cautions=self.cautions,
        )

    def plus(self, further: Mapping[str, float]) -> Budget:
        """The same with further parts (k = 1, by name); parts of zero are left out."""
        more = {name: value for name, value in further.items() if value > 0.0}
        return Budget({**self.parts, **more}, self.cautions)


def of_reading(channel: Channel, zero_standard: float = 0.0) -> Budget:
    """The parts that every reading of a channel carries, whatever is done with it.

    The accuracy class holds zero, gain and linearity together, at k = 2, in % of full scale. The
    converter's step is rectangular (JCGM 100 F.2.2.1). zero_standard: of the zero that was taken
    on the job, Pa.
    """
    chain, stated = channel.chain, channel.transducer.accuracy_pct_fs
    parts: dict[str, float] = {}
    cautions: tuple[str, ...] = ()
    if stated is None or chain.range_low is None or chain.range_high is None:
        cautions = (ACCURACY_UNKNOWN,)
    else:
        parts[ACCURACY] = stated / 100 * (chain.range_high - chain.range_low) / uncertainty.K
    if channel.step is not None:
        parts[STEP] = uncertainty.resolution(channel.step)
    if zero_standard > 0.0:
        parts[ZERO] = zero_standard
    return Budget(parts, cautions)


@dataclass(frozen=True, slots=True)
class HeldMean:
    """The mean of a held pressure.

    standard: of the mean (k = 1). deviation: of single samples about the mean. count: samples.
    effective: how many independent samples would give the same standard uncertainty.
    """

    mean: float
    standard: float
    deviation: float
    count: int

    @property
    def effective(self) -> float:
        """How many independent samples would tell as much; infinite where there is no scatter."""
        return (self.deviation / self.standard) ** 2 if self.standard > 0 else math.inf


def held_mean(values: F64) -> HeldMean:
    """Mean of a steady stretch with the standard uncertainty that its scatter leaves.

    values: shape (n,), evenly spaced, NaN where there is no value; n of 2 or more. The samples of a
    running pressure depend on each other (ripple, slow wander), so the scatter of the means of
    consecutive batches is taken, not s / √n; for fewer than 32 samples s / √n is all there is.
    Raises `ValueError` for fewer than two values.
    """
    good = values[np.isfinite(values)]
    count = len(good)
    if count < 2:
        raise ValueError("a held mean needs two values or more")
    mean, plain, _ = uncertainty.mean_and_uncertainty(good)
    deviation = plain * math.sqrt(count)
    if count < 2 * _BATCHES:
        return HeldMean(mean, plain, deviation, count)
    size = count // _BATCHES
    batches = good[: size * _BATCHES].reshape(_BATCHES, size).mean(axis=1)
    standard = float(np.std(batches, ddof=1)) / math.sqrt(_BATCHES)
    return HeldMean(mean, standard, deviation, count)


def ripple_of_mean(rms: float, frequency_hz: float, span_s: float) -> float:
    """Standard uncertainty of a mean over a span that does not hold whole ripple periods.

    A sine of that rms, averaged over span_s from any phase, errs by at most amplitude / (π f T),
    and never by more than its amplitude; the phase is arbitrary, so by 1/√2 of that (k = 1).
    frequency_hz: where the ripple shows in the samples, its alias where it is aliased.
    """
    turns = math.pi * frequency_hz * span_s
    return rms if turns <= 1.0 else rms / turns


def of_instant(slope_pa_s: float, interval_s: float) -> float:
    """Standard uncertainty of a pressure read off at an instant known to one interval, Pa."""
    return uncertainty.resolution(abs(slope_pa_s) * interval_s)


def of_crossing(
    slope_pa_s: float, noise_pa: float, interval_s: float, skew_s: float = 0.0
) -> dict[str, float]:
    """The parts (s, k = 1) of the instant at which a pressure crosses a level.

    noise_pa: standard deviation of single samples. skew_s: bound of the time between the instants
    at which the channels concerned were sampled. Raises `ValueError` for a slope of zero.
    """
    if slope_pa_s == 0.0:
        raise ValueError("a pressure that does not move crosses no level")
    parts = {
        TIME: uncertainty.resolution(interval_s),
        NOISE_OVER_SLOPE: abs(noise_pa / slope_pa_s),
        SKEW: uncertainty.rectangular(skew_s),
    }
    return {name: value for name, value in parts.items() if value > 0.0}


def imbalance(first: Answer, second: Answer, correlation: float = 0.0) -> Answer:
    """200 (first − second) / (first + second), in %, with its uncertainty.

    first, second: two pressures in Pa with their parts. correlation: of the two transducers'
    accuracies, above 0 where one reference calibrated both; all other parts are independent.
    """
    if isinstance(first, Absent):
        return Absent(Saying("The first pump's pressure is absent. {reason}", reason=first.reason))
    if isinstance(second, Absent):
        return Absent(
            Saying("The second pump's pressure is absent. {reason}", reason=second.reason)
        )
    total = first.value + second.value
    if total <= 0.0:
        return Absent("Neither pump is under pressure.")
    by_first = 400 * second.value / total**2
    by_second = -400 * first.value / total**2
    parts = {
        name: uncertainty.combine(
            {
                "one": uncertainty.Part(first.parts.get(name, 0.0), by_first),
                "two": uncertainty.Part(second.parts.get(name, 0.0), by_second),
            },
            {("one", "two"): correlation if name == ACCURACY else 0.0},
        ).standard
        for name in {**first.parts, **second.parts}
    }
    cautions = tuple(dict.fromkeys((*first.cautions, *second.cautions)))
    value = 200 * (first.value - second.value) / total
    return Budget(parts, cautions).figure(value, "%", first.window)


def overshoot_parts(peak: Figure, settled: Figure, initial: Figure) -> dict[str, float]:
    """The parts (%, k = 1) of 100 (peak − settled) / (settled − initial) by one transducer.

    Its zero and gain drop out of the ratio. What is left of its accuracy is the slope of a bow
    between peak and settled, at most 4 / full scale of the accuracy for each Pa between them (as
    full scale is not below the peak, the peak stands for it); and its hysteresis, since the peak is
    met on the way up and settled after turning: one of the class's four parts (zero, gain, bow and
    hysteresis) of one size.
    """
    step = settled.value - initial.value
    if step == 0.0 or peak.value == 0.0:
        raise ValueError("overshoot needs a step")
    share = (peak.value - settled.value) / step
    weights = ((peak, 1.0), (settled, -(1.0 + share)), (initial, share))
    names = {name for figure, _ in weights for name in figure.parts}
    parts = {
        name: math.hypot(*(weight * figure.parts.get(name, 0.0) for figure, weight in weights))
        for name in sorted(names)
    }
    if ACCURACY in parts:
        bow = 4 * peak.parts.get(ACCURACY, 0.0) / peak.value
        parts[ACCURACY] = bow * (peak.value - settled.value)
        parts[HYSTERESIS] = peak.parts.get(ACCURACY, 0.0) / 2
    return {name: abs(100 * part / step) for name, part in parts.items()}
