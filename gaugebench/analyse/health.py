"""Channel health: which stretches of which channels are not to be believed, and why.

Facts of acquisition come from the quality bits; judgements that need hindsight come from the
detectors beside this file and carry their version. Health gates figures: `against` says what must
be said with a figure, or why it is absent.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from gaugebench.analyse.copied import Looked, copied_stretches
from gaugebench.analyse.rest import below_vacuum, negative_rest, noise_at_rest, update_rate
from gaugebench.analyse.sick import Ailment, Sick
from gaugebench.analyse.stuck import flat_stretches
from gaugebench.model.arrays import Bools
from gaugebench.model.quality import Quality
from gaugebench.model.saying import Saying, fixed
from gaugebench.model.trace import Series, Trace
from gaugebench.quantity import Dimension, Reference

RUINS = frozenset({Ailment.STUCK, Ailment.WIRE_OFF})
"""A figure taken mostly from such samples is absent. Of two copies one may well be right, so their
own figures stand with a caution; what compares the two is absent (see `assure`)."""
_MOSTLY = 0.2
"""The share of a figure's span that may be ruined before the figure is absent."""
_SOME = 10_001
_BITS = {
    Ailment.WIRE_OFF: Quality.WIRE_OFF,
    Ailment.CLIPPED: Quality.CLIPPED,
    Ailment.OVER_RANGE: Quality.OVER_RANGE,
}
_NOTES = {
    Ailment.STUCK: "repeats one value while the machine moves: stuck or dead",
    Ailment.CLIPPED: "stands at its upper end: the true pressure lies beyond",
    Ailment.FLOORED: "stands at its lower end: the true pressure lies there or below",
    Ailment.WIRE_OFF: "shows what only a broken or missing wire gives",
    Ailment.OVER_RANGE: "lies above what the transducer is made for",
}


@dataclass(frozen=True, slots=True)
class Vitals:
    """How a channel does when nothing is wrong. None where the samples cannot tell.

    noise: standard deviation at rest, in the unit used inside. update_hz: how often it truly
    changes, where that is less often than it is sampled.
    """

    channel: str
    rate_hz: float | None
    noise: float | None
    update_hz: float | None


@dataclass(frozen=True, slots=True)
class Health:
    """The health of a trace's channels."""

    sick: tuple[Sick, ...]
    vitals: tuple[Vitals, ...]

    def of(self, channel: str) -> tuple[Sick, ...]:
        """What is wrong with a channel, by its title, in order of time."""
        return tuple(s for s in self.sick if s.channel == channel)

    def against(
        self, channel: str, start_s: float, end_s: float
    ) -> tuple[tuple[str, ...], str | None]:
        """What speaks against a figure taken from a channel between two instants.

        The cautions to be said with it, and the reason why it must be absent, or None.
        """
        met = [s for s in self.of(channel) if s.start_s <= end_s and s.end_s >= start_s]
        span = max(end_s - start_s, 1e-9)
        for sick in met:
            overlap = min(end_s, sick.end_s) - max(start_s, sick.start_s)
            if sick.ailment in RUINS and overlap >= _MOSTLY * span:
                return (), sick.sentence
        return tuple(dict.fromkeys(s.sentence for s in met)), None


def examine(trace: Trace) -> Health:
    """The health of every channel of a trace. Costs a few passes over the samples."""
    sick: list[Sick] = []
    streams = _by_stream(trace)
    for group in streams:
        for series in group:
            sick += _facts(series)
            sick += _flat(series, [o for o in group if o is not series])
            if series.channel.dimension is Dimension.PRESSURE:
                sick += _off_zero(series)
        sick += _copies(group)
    sick.sort(key=lambda s: (s.start_s, s.channel))
    return Health(tuple(sick), tuple(_vitals(s) for g in streams for s in g))


def _by_stream(trace: Trace) -> list[list[Series]]:
    """The series that share one time vector, together."""
    groups: list[list[Series]] = []
    for series in trace.series:
        if not len(series):
            continue
        for group in groups:
            if group[0].stream == series.stream and (
                group[0].times is series.times or np.array_equal(group[0].times, series.times)
            ):
                group.append(series)
                break
        else:
            groups.append([series])
    return groups


def _facts(series: Series) -> Iterable[Sick]:
    """The spans in which a quality bit is set, joined where under half a second lies between."""
    if not np.any(series.quality):
        return
    for ailment, bit in _BITS.items():
        has: Bools = (series.quality & bit) != 0
        at = series.times[has]
        if not len(at):
            continue
        breaks = np.flatnonzero(np.diff(at) > 0.5)
        starts = at[np.concatenate(([0], breaks + 1))]
        ends = at[np.concatenate((breaks, [len(at) - 1]))]
        for start, end in zip(starts, ends, strict=True):
            yield _sick(ailment, series, float(start), float(end))


def _flat(series: Series, others: list[Series]) -> Iterable[Sick]:
    if series.channel.dimension is not Dimension.PRESSURE:
        return
    alive = [
        other.values
        for other in others
        if other.channel.dimension in {Dimension.PRESSURE, Dimension.SPEED}
    ]
    top = series.channel.chain.range_high
    for ailment, run in flat_stretches(series.values, alive, top):
        start, end = float(series.times[run.first]), float(series.times[run.stop - 1])
        yield _sick(ailment, series, start, end)


def _off_zero(series: Series) -> Iterable[Sick]:
    channel = series.channel
    if channel.reference not in {None, Reference.GAUGE}:
        return
    chain = channel.chain
    is_ranged = chain.range_high is not None and chain.range_low is not None
    scale = (chain.range_high or 0.0) - (chain.range_low or 0.0) if is_ranged else None
    if span := below_vacuum(series.times, series.values, scale):
        yield Sick(
            Ailment.WIRE_OFF,
            channel.title,
            *span,
            "reads lower than any pressure can be: wire off, or the wrong range",
        )
    if rest := negative_rest(series.times, series.values, scale):
        start, end, level = rest
        note = Saying("rests at {level} bar, so its zero is off", level=fixed(level / 1e5, 1))
        yield Sick(Ailment.ZERO_SHIFTED, channel.title, start, end, note)


def _copies(group: list[Series]) -> Iterable[Sick]:
    pressures = [s for s in group if s.channel.dimension is Dimension.PRESSURE]
    looks = [Looked.at(series.values) for series in pressures]
    for at, first in enumerate(pressures):
        for beyond, second in enumerate(pressures[at + 1 :], at + 1):
            for run in copied_stretches(looks[at], looks[beyond]):
                start, end = float(second.times[run.first]), float(second.times[run.stop - 1])
                for one, two in ((first, second), (second, first)):
                    other = two.channel.title
                    note = Saying(
                        "has the very samples of {other}: one of the two is a copy", other=other
                    )
                    yield Sick(Ailment.COPIED, one.channel.title, start, end, note, other)


def _vitals(series: Series) -> Vitals:
    some = series.times[:_SOME]
    interval = float(np.median(np.diff(some))) if len(some) > 1 else 0.0
    return Vitals(
        channel=series.channel.title,
        rate_hz=1.0 / interval if interval > 0 else None,
        noise=noise_at_rest(series.values),
        update_hz=update_rate(series.times, series.values) if interval > 0 else None,
    )


def _sick(ailment: Ailment, series: Series, start_s: float, end_s: float) -> Sick:
    return Sick(ailment, series.channel.title, start_s, end_s, _NOTES[ailment])
