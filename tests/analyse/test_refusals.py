"""What the analysis must refuse, or say beside a figure."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from gaugebench.analyse.figures import analyse
from gaugebench.analyse.jsonform import as_json
from gaugebench.analyse.settings import Sense, Settings
from gaugebench.errors import AnalysisError
from gaugebench.model.figures import Absent, Event, Figure, LoadingFigures
from gaugebench.model.quality import Quality
from gaugebench.model.role import ControlPort, Role
from gaugebench.model.trace import Series, Trace
from gaugebench.quantity import Reference
from tests.analyse.conftest import Labelled


def without(trace: Trace, start_s: float, end_s: float) -> Trace:
    """The trace with its samples between two instants lost."""

    def cut(series: Series) -> Series:
        keep = (series.times < start_s) | (series.times >= end_s)
        return replace(
            series,
            times=series.times[keep],
            values=series.values[keep],
            quality=series.quality[keep],
        )

    return replace(trace, series=tuple(cut(s) for s in trace.series))


def only(trace: Trace) -> LoadingFigures:
    (loading,) = analyse(trace).loadings
    return loading


def test_a_trace_without_a_main_pressure_is_refused(made_up: Callable[..., Trace]) -> None:
    times = np.arange(0, 5, 0.01)
    with pytest.raises(AnalysisError, match="main pressure"):
        analyse(made_up(times, {"pilot": np.full(len(times), 3e6)}))


@pytest.mark.parametrize("reference", [Reference.ABSOLUTE, Reference.SEALED])
def test_pressures_that_are_not_gauge_enter_no_figure(
    labelled: Callable[[str], Labelled], reference: Reference
) -> None:
    trace = labelled("trace029").trace
    changed = tuple(
        replace(s, channel=replace(s.channel, reference=reference))
        if s.channel.role == Role.main(1)
        else s
        for s in trace.series
    )
    found = analyse(replace(trace, series=changed))
    assert [sorted(x.pumps) for x in found.loadings] == [[2]]
    assert any(str(reference) in said and "pump1.main" in said for said in found.cautions)


def test_a_gap_in_the_hold_is_said(labelled: Callable[[str], Labelled]) -> None:
    trace = labelled("trace017").trace
    settled = only(trace).pumps[1].settled
    pump = only(without(trace, 5.9, 6.1)).pumps[1]
    assert isinstance(settled, Figure)
    assert isinstance(pump.settled, Figure)
    assert pump.settled.value == pytest.approx(settled.value, rel=1e-3)
    assert any("missing" in said for said in pump.settled.cautions)
    assert isinstance(pump.peak, Figure)
    assert any("missing" in said for said in pump.peak.cautions)


def test_no_knee_is_placed_in_a_gap(labelled: Callable[[str], Labelled]) -> None:
    trace = labelled("trace017").trace  # its relief opens at 2.39 s
    assert isinstance(only(trace).pumps[1].relief_crack, Event)
    assert isinstance(only(without(trace, 2.37, 2.42)).pumps[1].relief_crack, Absent)


def test_samples_marked_missing_are_no_zeros(labelled: Callable[[str], Labelled]) -> None:
    trace = labelled("trace017").trace
    settled = only(trace).pumps[1].settled

    def spoil(series: Series) -> Series:
        values, quality = series.values.copy(), series.quality.copy()
        values[::7] = np.nan
        quality[::7] = 1
        return replace(series, values=values, quality=quality)

    spoilt = only(replace(trace, series=tuple(spoil(s) for s in trace.series))).pumps[1].settled
    assert isinstance(settled, Figure)
    assert isinstance(spoilt, Figure)
    assert spoilt.value == pytest.approx(settled.value, rel=1e-3)


def test_partial_loadings_say_what_they_lack(labelled: Callable[[str], Labelled]) -> None:
    trace = labelled("trace029").trace
    late = only(without(trace, -1.0, 4.0))
    assert isinstance(late.pumps[1].settled, Figure)
    assert late.pumps[1].t50 == Absent("The trace begins in the loading.")
    early = only(without(trace, 6.0, 99.0))
    settled = early.pumps[1].settled
    assert isinstance(settled, Figure)
    assert "The trace ends before the drop." in settled.cautions
    assert isinstance(early.pumps[1].t50, Figure)


def test_without_a_control_pressure_nothing_is_claimed_about_relief_or_cut_off(
    labelled: Callable[[str], Labelled],
) -> None:
    trace = labelled("trace029").trace
    mains = tuple(s for s in trace.series if s.channel.role in (Role.main(1), Role.main(2)))
    pump = only(replace(trace, series=mains)).pumps[1]
    assert pump.limited_by.limiter.value == "unclear"
    assert isinstance(pump.relief_crack, Absent)
    assert isinstance(pump.destroke_onset, Absent)
    assert isinstance(pump.control_settled, Absent)


def test_a_signal_port_shows_no_cut_off(labelled: Callable[[str], Labelled]) -> None:
    trace = labelled("trace002").trace
    assert isinstance(only(trace).pumps[1].destroke_onset, Event)
    changed = tuple(
        replace(s, channel=replace(s.channel, control_port=ControlPort.SIGNAL))
        for s in trace.series
    )
    onset = only(replace(trace, series=changed)).pumps[1].destroke_onset
    assert isinstance(onset, Absent)
    assert "not visible at this port" in onset.reason


def test_a_dead_control_channel_is_no_figure(labelled: Callable[[str], Labelled]) -> None:
    trace = labelled("trace002").trace
    dead = tuple(
        replace(s, values=np.zeros_like(s.values)) if s.channel.role == Role.control(1) else s
        for s in trace.series
    )
    pump = only(replace(trace, series=dead)).pumps[1]
    assert isinstance(pump.control_settled, Absent)
    assert isinstance(pump.destroke_onset, Absent)


def test_one_spike_is_the_raw_peak_and_not_the_peak(labelled: Callable[[str], Labelled]) -> None:
    trace = labelled("trace017").trace

    def spike(series: Series) -> Series:
        values = series.values.copy()
        values[1000] += 9e6
        return replace(series, values=values)

    plain = only(trace).pumps[1]
    pump = only(replace(trace, series=tuple(spike(s) for s in trace.series))).pumps[1]
    assert isinstance(plain.peak, Figure)
    assert isinstance(pump.peak, Figure)
    assert isinstance(pump.raw_peak, Figure)
    assert pump.peak.value == pytest.approx(plain.peak.value, rel=2e-3)
    assert pump.raw_peak.value > 37e6
    assert any("one sample" in said for said in pump.raw_peak.cautions)


@pytest.mark.parametrize("seed", range(30))
def test_whatever_is_lost_cut_or_dead_nothing_fails_and_nothing_is_no_number(
    labelled: Callable[[str], Labelled], seed: int
) -> None:
    random = np.random.default_rng(seed)
    name = ("trace002", "trace010", "trace017", "trace025", "trace029")[seed % 5]
    trace = labelled(name).trace
    times = trace.series[0].times
    keep = np.ones(len(times), bool)
    for _ in range(int(random.integers(0, 4))):
        at, length = random.uniform(times[0], times[-1]), random.choice([0.02, 0.1, 0.5, 2.0])
        keep &= (times < at) | (times > at + length)
    if seed % 3 == 0:
        first, last = sorted(random.uniform(times[0], times[-1], 2))
        keep &= (times >= first) & (times <= last)

    def spoil(series: Series) -> Series:
        values, quality = series.values.copy(), series.quality.copy()
        fate = int(random.integers(0, 12))
        if fate == 0:
            values[:] = 0.0
        elif fate == 1:
            values[:], quality[:] = np.nan, 1
        elif fate == 2:
            values = np.minimum(values, 0.8 * np.max(values))
        elif fate == 3:
            values[random.integers(0, len(values), 20)] += 2e7
        return replace(series, times=times[keep], values=values[keep], quality=quality[keep])

    found = as_json(analyse(replace(trace, series=tuple(spoil(s) for s in trace.series))))
    json.dumps(found, allow_nan=False)
    for loading in found["loadings"]:
        for pump in loading["pumps"].values():
            assert 0.0 not in [v for k, v in pump.items() if k.endswith("_pa")]
            if pump["peak_pa"] is not None:
                assert pump["peak_pa"] >= pump["settled_pa"] - 1.0


def test_settings_travel_and_count(labelled: Callable[[str], Labelled]) -> None:
    trace = labelled("trace002").trace
    narrow = analyse(trace, Settings(settle_share=0.01))
    assert narrow.settings["settle_share"] == 0.01
    a, b = narrow.loadings[0].pumps[1].settle, only(trace).pumps[1].settle
    assert isinstance(a, Figure)
    assert isinstance(b, Figure)
    assert a.value > b.value
    wrong = analyse(trace, Settings(control_sense=Sense.RISING)).loadings[0].pumps[1]
    assert isinstance(wrong.destroke_onset, Absent)


@pytest.mark.parametrize(
    "wrong",
    [{"settle_share": 0.0}, {"settle_share": 0.5}, {"smoothing_s": -1.0}, {"sync_share": 0}],
)
def test_settings_that_make_no_sense_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"at most|0 to 1"):
        Settings(**wrong)  # type: ignore[arg-type]


def test_nothing_short_is_timed_without_a_device_clock(
    labelled: Callable[[str], Labelled],
) -> None:
    """Samples without a device's own time come in bursts of up to 16 ms (common practice, no
    source): levels stand, a settling, a lag or a knee does not."""
    trace = labelled("trace029").trace
    guessed = tuple(
        replace(s, quality=s.quality | np.uint16(Quality.TIME_ESTIMATED)) for s in trace.series
    )
    timed, found = only(trace), only(replace(trace, series=guessed))
    assert isinstance(timed.sync_lag, Figure)
    assert isinstance(found.sync_lag, Absent)
    assert "clock" in found.sync_lag.reason
    for pump, figures in found.pumps.items():
        clocked = timed.pumps[pump]
        assert isinstance(clocked.relief_crack, Event)
        for absent in (figures.settle, figures.relief_crack, figures.destroke_onset):
            assert isinstance(absent, Absent)
        assert isinstance(figures.settled, Figure)
        assert isinstance(clocked.settled, Figure)
        assert figures.settled.value == clocked.settled.value
        assert any("no clock" in said for said in figures.settled.cautions)
        assert figures.limited_by == clocked.limited_by
