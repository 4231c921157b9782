"""The figures of two pumps in one loading."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from gaugebench.analyse.answers import figure
from gaugebench.analyse.budget import RECORD_LAG
from gaugebench.analyse.lag import USUAL
from gaugebench.analyse.pump import PumpFindings
from gaugebench.analyse.samples import NO_CLOCK, smoothed
from gaugebench.analyse.settings import Settings
from gaugebench.model.figures import Absent, Answer, Figure, Window
from gaugebench.model.saying import Saying
from gaugebench.quantity import Number

LINES_APART = 0.25
"""Standard uncertainty (k = 1) of how alike two channels of one kit lag, as a share of their lag:
filters keep their time constants to some tenths, hoses are of some lengths (common practice, no
source)."""
_ONE = Absent("Only one pump is in the loading.")


def pair_figures(
    found: Mapping[int, PumpFindings], settings: Settings
) -> tuple[Answer, Answer, Answer, Answer]:
    """Imbalance, running imbalance, sync lag and the instant of sync, of the first two pumps."""
    if len(found) < 2:
        return _ONE, _ONE, _ONE, _ONE
    one, two = (found[pump] for pump in sorted(found)[:2])
    lag = _lag(one, two)
    a, b = one.figures.settled, two.figures.settled
    if not isinstance(a, Figure) or not isinstance(b, Figure) or not one.hold or not two.hold:
        no = Absent("One of the pumps has no settled pressure.")
        return no, no, lag, no
    total = a.value + b.value
    value = 200 * (a.value - b.value) / total
    sd = 200 / total**2 * 2 * np.hypot(b.value * _sd(a), a.value * _sd(b))
    window = Window(
        max(one.hold.start_s, two.hold.start_s), min(one.hold.end_s, two.hold.end_s),
        min(one.hold.count, two.hold.count),
    )  # fmt: skip
    cautions = tuple(dict.fromkeys(a.cautions + b.cautions))
    imbalance = Figure(value, "%", 2 * float(sd), {"noise": float(sd)}, window, cautions)
    running, in_sync = _running(one, two, settings, cautions)
    return imbalance, running, lag, in_sync


def _sd(figure: Figure) -> float:
    return (figure.expanded or 0.0) / 2


def _lag(one: PumpFindings, two: PumpFindings) -> Answer:
    if one.rise is None or two.rise is None:
        return Absent("One of the pumps has no rise that could be timed.")
    for side in (one, two):
        if side.rise and not side.samples.has_clock(side.rise.foot_s, side.rise.top_s):
            return Absent(NO_CLOCK)
    parts = {
        "fit of pump 1": one.rise.t50_sd,
        "fit of pump 2": two.rise.t50_sd,
        RECORD_LAG: LINES_APART * USUAL.seconds * float(np.sqrt(2)),
    }
    value = two.rise.t50_s - one.rise.t50_s
    window = Window(
        min(one.rise.foot_s, two.rise.foot_s), max(one.rise.top_s, two.rise.top_s),
        len(one.samples.part(one.rise.foot_s, one.rise.top_s)),
    )  # fmt: skip
    return figure(value, "s", parts, window)


def _running(
    one: PumpFindings, two: PumpFindings, settings: Settings, cautions: tuple[str, ...]
) -> tuple[Answer, Answer]:
    if not (one.rise and two.rise and one.hold and two.hold):
        no = Absent("One of the pumps has no rise.")
        return no, no
    start = max(one.rise.t50_s, two.rise.t50_s)
    end = min(one.hold.drop_s, two.hold.drop_s)
    part = one.samples.part(start, end)
    if len(part) < 5:
        no = Absent("The two pumps are not held together.")
        return no, no
    other = np.interp(part.times, two.samples.times, two.samples.values)
    width = max(1, round(0.02 / part.interval_s))
    a, b = smoothed(part.values, width), smoothed(other, width)
    ratio = 200 * (a - b) / (a + b)
    window = Window(start, end, len(part))
    rms = Figure(float(np.sqrt(np.mean(ratio**2))), "%", None, {}, window, cautions)
    band = settings.sync_share * max(one.hold.level, two.hold.level)
    out = np.flatnonzero(np.abs(a - b) > band)
    at = 0 if not len(out) else int(out[-1]) + 1
    if at >= len(part) - 2:
        return rms, Absent(
            Saying(
                "The two pressures do not stay within ± {share} % of each other.",
                share=Number(f"{100 * settings.sync_share:g}"),
            )
        )
    interval = part.interval_s
    sync = Figure(
        float(part.times[at]), "s", interval, {"time step": interval / 2}, window, cautions
    )
    return rms, sync
