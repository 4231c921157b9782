"""The figures of one pump in one loading."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugebench.analyse.answers import figure
from gaugebench.analyse.budget import RECORD_LAG
from gaugebench.analyse.events import destroke_onset, override, relief_crack
from gaugebench.analyse.hold import Hold, find_hold
from gaugebench.analyse.holding import Context, holding_of
from gaugebench.analyse.lag import USUAL, find_lag
from gaugebench.analyse.peak import Peak, find_peak
from gaugebench.analyse.push import Push, push_of
from gaugebench.analyse.ripple import Ripple, ripple_of
from gaugebench.analyse.rise import Rise, departure, find_rise
from gaugebench.analyse.samples import NO_CLOCK, Samples
from gaugebench.analyse.settings import Settings
from gaugebench.analyse.settle import settle_time
from gaugebench.analyse.track import PumpSpan
from gaugebench.model.figures import (
    Absent,
    Answer,
    Event,
    LimitedBy,
    Limiter,
    Plateau,
    PumpFigures,
    Window,
)
from gaugebench.model.saying import Saying, fixed


@dataclass(frozen=True, slots=True)
class PumpFindings:
    """What was found of one pump: the figures, and what the pair's figures are made from.

    start_s: where the pressure departs from idle, s; None where the trace begins after that.
    push: where the push began; before `start_s` where an actuator travelled lightly.
    """

    figures: PumpFigures
    samples: Samples
    hold: Hold | None = None
    rise: Rise | None = None
    peak: Peak | None = None
    start_s: float | None = None
    push: Push | None = None


def figures_of_pump(
    main: Samples,
    control: Samples | None,
    span: PumpSpan,
    settings: Settings,
    context: Context,
) -> PumpFindings:
    """The figures of one pump."""
    hold = find_hold(main, span.base_pa, span.start_s, span.end_s)
    if hold is None:
        return PumpFindings(_all_absent("The pressure is not held long enough."), main)
    push = push_of(main, control, span, hold)
    travel_s = push.span.start_s if push.is_light else None
    rise = (
        None if span.cut_start else find_rise(main, push.span.base_pa, span.start_s, hold, travel_s)
    )
    no_rise = Absent(
        "The trace begins in the loading." if span.cut_start else "No rise leads to the hold."
    )
    window = Window(hold.start_s, hold.end_s, hold.count)
    cautions = main.cautions(hold.start_s, hold.end_s)
    if span.cut_end:
        cautions += ("The trace ends before the drop.",)
    if hold.other is not None:
        level, since, until = hold.other
        said = Saying(
            "There are two plateaus: the pressure stood at {level} MPa from {since} s to {until} "
            "s, as with a power boost.",
            level=fixed(level / 1e6, 2),
            since=fixed(since, 1),
            until=fixed(until, 1),
        )
        cautions = (*cautions, said)
    held = main.part(hold.start_s, hold.end_s)
    ripple = ripple_of(held.times, held.values)
    parts = {**hold.parts, "ripple": _ripple_in_mean(ripple, hold)}
    settled = figure(hold.level, "Pa", parts, window, cautions)
    peak = find_peak(main, rise, hold, ripple, settings.smoothing_s) if rise else None
    initial: Answer = no_rise
    t50: Answer = no_rise
    settle: Answer = no_rise
    overshoot: Answer = no_rise
    top: Answer = no_rise
    raw: Answer = no_rise
    lag = find_lag(main, rise, hold.level) if rise else USUAL
    if rise is not None and peak is not None:
        over = Window(rise.foot_s, hold.drop_s, len(main.part(rise.foot_s, hold.drop_s)))
        inside = main.cautions(rise.foot_s, hold.drop_s)
        initial = figure(
            rise.initial,
            "Pa",
            rise.initial_parts,
            Window(rise.initial_start_s, rise.initial_end_s, rise.initial_count),
            main.cautions(rise.initial_start_s, rise.initial_end_s),
        )
        behind = {RECORD_LAG: lag.behind}
        t50 = figure(rise.t50_s, "s", {**rise.t50_parts, **behind}, over, inside)
        top = figure(peak.pressure, "Pa", {"noise": peak.sd}, over, inside)
        only = ("It is one sample; no neighbour supports it.",) if peak.one_sample else ()
        raw = figure(peak.raw, "Pa", {"noise": main.noise}, over, inside + only)
        timed = main.has_clock(rise.foot_s, rise.top_s)
        level_sd = float(np.linalg.norm(list(parts.values())))
        late = (
            settle_time(main, rise, hold, settings.settle_share, level_sd)
            if timed
            else Absent(NO_CLOCK)
        )
        settle = (
            late
            if isinstance(late, Absent)
            else figure(late.seconds, "s", late.parts, over, inside)
        )
        step = hold.level - rise.initial
        overshoot = figure(
            100 * (peak.pressure - hold.level) / step,
            "%",
            {"noise": 100 * peak.sd / step},
            over,
            inside,
        )
    calm = main.part(hold.start_s, hold.end_s).values - hold.level
    holding = holding_of(control, main, push.span, rise, hold, settings.control_sense, context)
    limited = holding.limited
    crack: Event | Absent = no_rise
    onset: Event | Absent = no_rise
    if rise is not None:
        crack = relief_crack(main, rise, hold, limited, lag, ripple)
        onset = destroke_onset(holding, main, rise, hold, lag)
    figures = PumpFigures(
        initial=initial,
        settled=settled,
        peak=top,
        raw_peak=raw,
        t50=t50,
        settle=settle,
        overshoot=overshoot,
        ripple_pp=_swing(float(np.ptp(calm)), main, window, cautions),
        ripple_rms=_swing(float(np.std(calm)), main, window, cautions),
        relief_crack=crack,
        override=override(crack, settled, onset),
        destroke_onset=onset,
        control_settled=_control_settled(control, hold),
        limited_by=limited,
        plateaus=_plateaus(hold),
    )
    start_s = None if span.cut_start else departure(main, span, hold)
    return PumpFindings(figures, main, hold, rise, peak, start_s, push)


def _plateaus(hold: Hold) -> tuple[Plateau, ...]:
    """Both levels of a hold that has two."""
    if hold.other is None:
        return ()
    level, since, until = hold.other
    return Plateau(since, until, level), Plateau(hold.start_s, hold.end_s, hold.level)


def _control_settled(control: Samples | None, hold: Hold) -> Answer:
    if control is None:
        return Absent("No channel carries this pump's control pressure.")
    part = control.part(hold.start_s, hold.end_s)
    if len(part) < 3:
        return Absent("The control pressure has no samples in the hold.")
    sd = float(np.std(part.values)) / np.sqrt(len(part))
    return figure(
        float(np.mean(part.values)),
        "Pa",
        {"noise": float(sd)},
        Window(hold.start_s, hold.end_s, len(part)),
        control.cautions(hold.start_s, hold.end_s),
    )


def _swing(value: float, main: Samples, window: Window, cautions: tuple[str, ...]) -> Answer:
    """A measure of ripple, Pa: absent where the samples are all one value."""
    if value == 0.0:
        return Absent("The samples of the hold are all one value.")
    sd = main.noise / float(np.sqrt(2 * max(1, window.count)))
    return figure(value, "Pa", {"noise": sd}, window, cautions)


def _ripple_in_mean(ripple: Ripple | None, hold: Hold) -> float:
    """What a part of a period of (aliased) ripple may leave in the mean, Pa (k = 1)."""
    if ripple is None or ripple.line_hz == 0:
        return 0.0
    periods = ripple.line_hz * (hold.end_s - hold.start_s)
    most = ripple.line / max(1.0, np.pi * periods)
    return float(most / np.sqrt(2))


def _all_absent(why: str) -> PumpFigures:
    no = Absent(why)
    event: Event | Absent = no
    return PumpFigures(
        no, no, no, no, no, no, no, no, no, event, no, event, no,
        LimitedBy(Limiter.UNCLEAR, why),
    )  # fmt: skip
