"""What the instrument adds to figures: parts, skew, and absence where a channel is sick."""

from dataclasses import replace

import numpy as np
import pytest

from gaugebench.analyse import budget
from gaugebench.analyse.assure import Ground, assure
from gaugebench.analyse.health import Health
from gaugebench.analyse.sick import Ailment, Sick
from gaugebench.model.channel import Channel, Transducer
from gaugebench.model.conditioning import Chain
from gaugebench.model.figures import (
    Absent,
    Event,
    Figure,
    FigureSet,
    LimitedBy,
    Limiter,
    LoadingFigures,
    PumpFigures,
    Window,
)
from gaugebench.model.role import Role
from gaugebench.model.trace import Series

WINDOW = Window(3.0, 5.0, 400)
WELL = Health((), ())


def pressure(bar: float) -> Figure:
    return Figure(bar * 1e5, "Pa", 0.2e5, {"noise": 0.1e5}, WINDOW)


def pump(settled: float) -> PumpFigures:
    return PumpFigures(
        initial=pressure(25),
        settled=pressure(settled),
        peak=pressure(settled + 10),
        raw_peak=pressure(settled + 12),
        t50=Figure(2.0, "s", 0.002, {"fit": 0.001}, WINDOW),
        settle=Figure(0.2, "s", 0.01, {"time": 0.005}, WINDOW),
        overshoot=Figure(100 * 10 / (settled - 25), "%", 0.1, {"noise": 0.05}, WINDOW),
        ripple_pp=pressure(4),
        ripple_rms=pressure(1),
        relief_crack=Event(Figure(2.4, "s", 0.01, {"fit": 0.005}, WINDOW), pressure(settled - 12)),
        override=Figure(100 * 12 / (settled - 12), "%", 0.1, {"settled": 0.05}, WINDOW),
        destroke_onset=Absent("The pump stays loaded."),
        control_settled=pressure(4),
        limited_by=LimitedBy(Limiter.RELIEF, "Oil goes over it."),
    )


FIGURES = FigureSet(
    (
        LoadingFigures(
            start_s=1.8,
            end_s=5.2,
            pumps={1: pump(340), 2: pump(350)},
            imbalance=Figure(-2.8986, "%", 0.06, {"noise": 0.03}, WINDOW),
            running_imbalance=Figure(3.0, "%", None, {}, WINDOW),
            sync_lag=Figure(0.1, "s", 0.004, {"fit of pump 1": 0.002}, WINDOW),
            in_sync=Figure(2.6, "s", 0.005, {}, WINDOW),
            cycle_time=Absent("Nothing travels."),
        ),
    ),
    {},
)


def ground(
    health: Health = WELL, *, stated: float | None = 0.5, streams: tuple[str, str] = ("a", "a")
) -> Ground:
    times = np.arange(1000) / 200
    none = np.zeros(1000)

    def series(name: str, full_scale: float, stream: str) -> Series:
        channel = Channel(
            name,
            Role(name),
            chain=Chain(range_low=0.0, range_high=full_scale),
            transducer=Transducer(accuracy_pct_fs=stated),
            step=full_scale / 4096,
        )
        return Series(channel, times, none, none.astype(np.uint16), stream)

    return Ground(
        {
            Role.main(1): series("pump1.main", 600e5, streams[0]),
            Role.main(2): series("pump2.main", 600e5, streams[1]),
            Role.control(1): series("pump1.control", 60e5, streams[0]),
        },
        health,
    )


def figure(answer: object) -> Figure:
    assert isinstance(answer, Figure), answer
    return answer


def test_pressures_carry_their_transducer() -> None:
    # 0.5 % of 600 bar and of 60 bar at k = 2; the 12-bit step by JCGM 100:2008 F.2.2.1
    found = assure(FIGURES, ground()).loadings[0].pumps[1]
    settled = figure(found.settled)
    assert settled.parts == pytest.approx(
        {"noise": 0.1e5, budget.ACCURACY: 1.5e5, budget.STEP: 4228.6}, rel=1e-4
    )
    assert settled.expanded == pytest.approx(
        2 * np.sqrt(0.1**2 + 1.5**2 + 0.0423**2) * 1e5, rel=1e-4
    )
    assert isinstance(found.relief_crack, Event)
    assert figure(found.relief_crack.pressure).parts[budget.ACCURACY] == pytest.approx(1.5e5)
    assert figure(found.control_settled).parts[budget.ACCURACY] == pytest.approx(0.15e5)
    # a ratio of differences keeps little of it
    assert figure(found.overshoot).parts[budget.ACCURACY] < 0.1
    assert figure(found.override).parts[budget.ACCURACY] < 0.1
    assert figure(found.t50) == FIGURES.loadings[0].pumps[1].t50


def test_imbalance_carries_both_transducers() -> None:
    found = assure(FIGURES, ground()).loadings[0]
    # two independent ± 3 bar at 345 bar: 3 / 345 · √2 · 100 % = 1.23 %
    assert figure(found.imbalance).expanded == pytest.approx(1.23, abs=0.02)
    together = assure(FIGURES, replace(ground(), correlation=1.0)).loadings[0]
    assert (figure(together.imbalance).expanded or 1.0) < 0.1
    assert figure(found.imbalance).window == WINDOW


def test_sync_lag_carries_the_skew() -> None:
    same = figure(assure(FIGURES, ground()).loadings[0].sync_lag)
    assert same.parts[budget.SKEW] == pytest.approx(0.005 / np.sqrt(3))
    apart = figure(assure(FIGURES, ground(streams=("a", "b"))).loadings[0].sync_lag)
    assert (apart.expanded or 0.0) >= 0.020


def test_unknown_accuracy_is_said() -> None:
    found = assure(FIGURES, ground(stated=None)).loadings[0]
    assert budget.ACCURACY_UNKNOWN in figure(found.pumps[1].settled).cautions
    assert budget.ACCURACY_UNKNOWN in figure(found.imbalance).cautions


def sick(ailment: Ailment, channel: str, start: float, end: float, other: str = "") -> Health:
    note = "is sick"
    return Health((Sick(ailment, channel, start, end, note, other or None),), ())


def test_stuck_channel_has_no_figures() -> None:
    found = assure(FIGURES, ground(sick(Ailment.STUCK, "pump2.main", 0.0, 9.0)))
    both = found.loadings[0]
    assert both.pumps[2].settled == Absent("pump2.main is sick.")
    assert isinstance(both.pumps[2].relief_crack, Absent)
    for answer in (both.imbalance, both.running_imbalance, both.sync_lag, both.in_sync):
        assert isinstance(answer, Absent)
    assert isinstance(both.pumps[1].settled, Figure)
    assert found.cautions == ("pump2.main is sick.",)


def test_clipped_channel_says_so() -> None:
    found = assure(FIGURES, ground(sick(Ailment.CLIPPED, "pump1.main", 3.4, 3.5)))
    assert figure(found.loadings[0].pumps[1].peak).cautions == ("pump1.main is sick.",)
    later = assure(FIGURES, ground(sick(Ailment.CLIPPED, "pump1.main", 7.0, 8.0)))
    assert figure(later.loadings[0].pumps[1].peak).cautions == ()


def test_copies_are_not_compared() -> None:
    health = sick(Ailment.COPIED, "pump1.main", 0.0, 9.0, "pump2.main")
    found = assure(FIGURES, ground(health)).loadings[0]
    for answer in (found.imbalance, found.running_imbalance, found.sync_lag, found.in_sync):
        assert answer == Absent("pump1.main is sick.")
    assert figure(found.pumps[1].settled).cautions == ("pump1.main is sick.",)
    elsewhere = sick(Ailment.COPIED, "pump1.main", 7.0, 9.0, "pump2.main")
    assert isinstance(assure(FIGURES, ground(elsewhere)).loadings[0].sync_lag, Figure)


@pytest.mark.parametrize("streams", [("a", "a"), ("a", "b")])
def test_twice_is_as_once(streams: tuple[str, str]) -> None:
    once = assure(FIGURES, ground(streams=streams))
    assert assure(once, ground(streams=streams)) == once


def test_one_pump_alone() -> None:
    loading = replace(FIGURES.loadings[0], pumps={1: pump(340)}, imbalance=Absent("One pump."))
    found = assure(replace(FIGURES, loadings=(loading,)), ground()).loadings[0]
    assert found.imbalance == Absent("One pump.")
    assert budget.ACCURACY in figure(found.pumps[1].settled).parts
