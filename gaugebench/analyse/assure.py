"""What the instrument adds to a figure: its own uncertainty, and what its channels' health allows.

The figures of a loading come from samples alone. Here each gets the parts of its transducer
and converter, pairs get the skew between their channels, and a figure whose samples are not to be
believed says so or is absent. Doing it twice changes nothing.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from gaugebench.analyse import budget, uncertainty
from gaugebench.analyse.health import Health
from gaugebench.analyse.sick import Ailment
from gaugebench.model.figures import (
    Absent,
    Answer,
    Event,
    Figure,
    FigureSet,
    LoadingFigures,
    PumpFigures,
)
from gaugebench.model.role import Role
from gaugebench.model.trace import Series

APART_S = 0.01
"""Standard uncertainty (k = 1) of the time between two devices whose skew is not known.

With it a sync lag is worth no more than 20 ms (common practice, no source).
"""


@dataclass(frozen=True, slots=True)
class Ground:
    """What figures stand on.

    series: by role, as the figures were taken from. correlation: of the transducers' accuracies,
    above 0 where one reference calibrated both.
    """

    series: Mapping[Role, Series]
    health: Health
    correlation: float = 0.0


def assure(figures: FigureSet, ground: Ground) -> FigureSet:
    """The figures with what the instrument adds to them, and the health of the channels used."""
    used = {series.channel.title for series in ground.series.values()}
    said = (s.sentence for s in ground.health.sick if s.channel in used)
    return replace(
        figures,
        loadings=tuple(_loading(loading, ground) for loading in figures.loadings),
        cautions=tuple(dict.fromkeys((*figures.cautions, *said))),
    )


def _loading(loading: LoadingFigures, ground: Ground) -> LoadingFigures:
    pumps = {number: _pump(pump, number, ground) for number, pump in loading.pumps.items()}
    found = replace(loading, pumps=pumps)
    if len(pumps) < 2:
        return found
    one, two = sorted(pumps)[:2]
    first, second = ground.series.get(Role.main(one)), ground.series.get(Role.main(two))
    if first is None or second is None:
        return found
    copied = _copied(first, second, loading, ground.health)
    if copied is not None:
        return replace(
            found, imbalance=copied, running_imbalance=copied, sync_lag=copied, in_sync=copied
        )
    imbalance = loading.imbalance
    if isinstance(imbalance, Figure):
        settled = pumps[one].settled, pumps[two].settled
        own = budget.imbalance(*settled, correlation=ground.correlation)
        imbalance = replace(own, window=imbalance.window) if isinstance(own, Figure) else own

    def sound(answer: Answer) -> Answer:
        for title in (first.channel.title, second.channel.title):
            answer = _gated(answer, ground.health, title)
        return answer

    return replace(
        found,
        imbalance=imbalance,
        running_imbalance=sound(loading.running_imbalance),
        sync_lag=sound(_plus(loading.sync_lag, _skew(first, second))),
        in_sync=sound(loading.in_sync),
    )


def _copied(
    first: Series, second: Series, loading: LoadingFigures, health: Health
) -> Absent | None:
    """Why two channels that are copies of each other in the loading cannot be compared."""
    for sick in health.of(first.channel.title):
        is_pair = sick.ailment is Ailment.COPIED and sick.other == second.channel.title
        if is_pair and sick.start_s < loading.end_s and sick.end_s > loading.start_s:
            return Absent(sick.sentence)
    return None


def _skew(first: Series, second: Series) -> dict[str, float]:
    """One row of a stream is sampled within its interval; two devices are further apart."""
    if first.stream == second.stream:
        interval = min(first.interval_s, second.interval_s)
        return {budget.SKEW: uncertainty.rectangular(interval)} if interval > 0 else {}
    return {budget.SKEW: APART_S}


def _pump(pump: PumpFigures, number: int, ground: Ground) -> PumpFigures:
    main = ground.series.get(Role.main(number))
    if main is None:
        return pump
    control = ground.series.get(Role.control(number))
    health, title = ground.health, main.channel.title
    reading = budget.of_reading(main.channel)

    def sound(answer: Answer) -> Answer:
        return _gated(answer, health, title)

    def pressure(answer: Answer) -> Answer:
        return sound(_plus(answer, reading.parts, reading.cautions))

    def event(found: Event | Absent) -> Event | Absent:
        if isinstance(found, Absent):
            return found
        time = sound(found.time)
        return time if isinstance(time, Absent) else Event(time, pressure(found.pressure))

    settled, initial, peak = (pressure(a) for a in (pump.settled, pump.initial, pump.peak))
    crack = event(pump.relief_crack)
    onset = event(pump.destroke_onset)
    held = pump.control_settled
    if control is not None:
        own = budget.of_reading(control.channel)
        held = _gated(_plus(held, own.parts, own.cautions), health, control.channel.title)
    return replace(
        pump,
        initial=initial,
        settled=settled,
        peak=peak,
        raw_peak=pressure(pump.raw_peak),
        t50=sound(pump.t50),
        settle=sound(pump.settle),
        overshoot=sound(_overshoot(pump.overshoot, peak, settled, initial)),
        ripple_pp=sound(pump.ripple_pp),
        ripple_rms=sound(pump.ripple_rms),
        relief_crack=crack,
        override=sound(_override(pump.override, crack, settled)),
        destroke_onset=onset,
        control_settled=held,
    )


def _overshoot(overshoot: Answer, peak: Answer, settled: Answer, initial: Answer) -> Answer:
    """With the part of the transducer's accuracy that a ratio of differences leaves."""
    if not (
        isinstance(overshoot, Figure)
        and isinstance(peak, Figure)
        and isinstance(settled, Figure)
        and isinstance(initial, Figure)
    ):
        return overshoot
    if settled.value == initial.value or peak.value <= 0.0:
        return overshoot
    parts = budget.overshoot_parts(peak, settled, initial)
    own = budget.ACCURACY, budget.HYSTERESIS
    return _plus(overshoot, {name: parts[name] for name in own if name in parts})


def _override(override: Answer, crack: Event | Absent, settled: Answer) -> Answer:
    """As overshoot: zero and gain of one transducer nearly drop out of the ratio."""
    if (
        not isinstance(override, Figure)
        or isinstance(crack, Absent)
        or not isinstance(crack.pressure, Figure)
        or not isinstance(settled, Figure)
    ):
        return override
    own = settled.parts.get(budget.ACCURACY, 0.0)
    bow = 4 * own / settled.value * abs(settled.value - crack.pressure.value)
    zero = own * abs(settled.value - crack.pressure.value) / crack.pressure.value
    part = 100 * math.hypot(bow, zero) / crack.pressure.value
    return _plus(override, {budget.ACCURACY: part})


def _plus(answer: Answer, parts: Mapping[str, float], cautions: tuple[str, ...] = ()) -> Answer:
    if isinstance(answer, Absent):
        return answer
    joined = {**answer.parts, **{name: part for name, part in parts.items() if part > 0.0}}
    return replace(
        answer,
        parts=joined,
        expanded=uncertainty.expanded(joined) if joined else answer.expanded,
        cautions=tuple(dict.fromkeys((*answer.cautions, *cautions))),
    )


def _gated(answer: Answer, health: Health, title: str) -> Answer:
    if isinstance(answer, Absent) or answer.window is None:
        return answer
    cautions, reason = health.against(title, answer.window.start_s, answer.window.end_s)
    if reason is not None:
        return Absent(reason)
    return replace(answer, cautions=tuple(dict.fromkeys((*answer.cautions, *cautions))))
