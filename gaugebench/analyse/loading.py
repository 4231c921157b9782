"""The figures of one loading, from the bounded stretch of samples round it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from gaugebench.analyse.cycle import cycle_time
from gaugebench.analyse.holding import Context
from gaugebench.analyse.marks import marks_of
from gaugebench.analyse.pair import pair_figures
from gaugebench.analyse.pump import PumpFindings, figures_of_pump
from gaugebench.analyse.samples import Samples, samples_of
from gaugebench.analyse.segmenter import BEFORE_S, LoadingSpan
from gaugebench.analyse.settings import Settings
from gaugebench.analyse.track import PumpSpan, PumpTrack
from gaugebench.analyse.watch import Look
from gaugebench.model.arrays import F64
from gaugebench.model.figures import LoadingFigures
from gaugebench.model.mark import Mark, Standing
from gaugebench.model.role import ControlPort, Port, Role
from gaugebench.model.trace import Series


def figures_of_loading(
    series: Mapping[Role, Series], span: LoadingSpan, settings: Settings
) -> tuple[LoadingFigures, list[Mark]]:
    """The figures and the final marks of one loading; `series` need only cover its window."""
    found = _find(series, span, settings)
    figures = _figures(found, span, settings)
    return figures, marks_of(span.number, figures, found)


def look_at_loading(
    series: Mapping[Role, Series],
    look: Look,
    open_pumps: Mapping[int, PumpTrack],
    settings: Settings,
) -> list[Mark]:
    """Provisional marks of a loading that has not ended, from the samples up to `look.until_s`."""
    pumps = {
        pump: PumpSpan(
            start_s=track.start * track.bin_s,
            end_s=look.until_s,
            base_pa=track.base,
            held=True,
            cut_end=True,
        )
        for pump, track in open_pumps.items()
    }
    start = min(p.start_s for p in pumps.values())
    span = LoadingSpan(look.number, start, look.until_s, start - BEFORE_S, look.until_s, pumps)
    found = _find(series, span, settings)
    return marks_of(look.number, _figures(found, span, settings), found, Standing.PROVISIONAL)


def _find(
    series: Mapping[Role, Series], span: LoadingSpan, settings: Settings
) -> dict[int, PumpFindings]:
    found = {}
    pilot = _pilot(series.get(Role("pilot")), span)
    mains = {
        role: samples_of(one, span.window_start_s, span.window_end_s)
        for role, one in series.items()
        if role.port is Port.MAIN
    }
    total_times, total = _total(mains)
    for pump, stretch in span.pumps.items():
        main = mains[Role.main(pump)]
        control_series = series.get(Role.control(pump))
        control = (
            samples_of(control_series, span.window_start_s, span.window_end_s)
            if control_series is not None
            else None
        )
        context = Context(
            pilot=pilot,
            port=control_series.channel.control_port if control_series else ControlPort.UNKNOWN,
            total_times=total_times,
            total=total,
        )
        found[pump] = figures_of_pump(main, control, stretch, settings, context)
    return found


def _figures(
    found: Mapping[int, PumpFindings], span: LoadingSpan, settings: Settings
) -> LoadingFigures:
    imbalance, running, lag, in_sync = pair_figures(found, settings)
    starts = [f.start_s for f in found.values() if f.start_s is not None]
    ends = [f.hold.drop_s for f in found.values() if f.hold]
    return LoadingFigures(
        start_s=min(starts, default=span.start_s),
        end_s=max(ends, default=span.end_s),
        pumps={pump: f.figures for pump, f in found.items()},
        imbalance=imbalance,
        running_imbalance=running,
        sync_lag=lag,
        in_sync=in_sync,
        cycle_time=cycle_time(found),
    )


def _pilot(series: Series | None, span: LoadingSpan) -> float | None:
    """The pilot supply's pressure in the window, Pa, or None."""
    if series is None:
        return None
    part = samples_of(series, span.window_start_s, span.window_end_s)
    return float(np.median(part.values)) if len(part) > 2 else None


def _total(mains: Mapping[Role, Samples]) -> tuple[F64, F64]:
    """The sum of all main pressures: instants (n,), s, and Pa (n,)."""
    shown = [main for _, main in sorted(mains.items()) if len(main) > 1]
    if not shown:
        return np.empty(0), np.empty(0)
    times = max(shown, key=len).times
    total = np.zeros(len(times))
    for main in shown:
        total += np.interp(times, main.times, main.values)
    return times, total
