"""Intervals of instants and of what may hide, on courses whose truth is known in closed form.

A first-order approach p(t) = H − (H − I) exp(−t/τ) crosses a level L at τ ln((H − I)/(H − L)); one
that passes its end and creeps back is the sum of two exponentials, solved by scipy's root finder.
The parts are those of JCGM 100:2008: 4.3.7 (bounds), F.2.2.1 (steps), 5.1.3 note 2 (by trying).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import brentq

from gaugebench.analyse import budget
from gaugebench.analyse.figures import analyse
from gaugebench.analyse.lag import USUAL
from gaugebench.model.arrays import F64
from gaugebench.model.figures import Figure, PumpFigures
from gaugebench.model.trace import Trace

IDLE, HOLD, BEGIN, END, RATE = 2.5e6, 32.5e6, 2.0, 7.0, 500.0
Make = Callable[..., Trace]


def pump_of(made_up: Make, course: Callable[[F64], F64], noise_pa: float, seed: int) -> PumpFigures:
    """The figures of a main pressure that follows `course` (Pa, of s since BEGIN) up to END."""
    times = np.arange(0, 9, 1 / RATE)
    held = course(np.maximum(times - BEGIN, 0.0))
    fallen = IDLE + (HOLD - IDLE) * np.exp(-np.maximum(times - END, 0.0) / 0.04)
    values = np.where(times < END, held, fallen)
    values += np.random.default_rng(seed).normal(0.0, noise_pa, len(times))
    (loading,) = analyse(made_up(times, {"pump1.main": values})).loadings
    return loading.pumps[1]


def figure(answer: object) -> Figure:
    assert isinstance(answer, Figure)
    assert answer.expanded is not None
    return answer


def creeping(t: F64) -> F64:
    return np.asarray(HOLD - (HOLD - IDLE) * (0.8 * np.exp(-t / 0.02) + 0.2 * np.exp(-t / 0.4)))


def settles_at(course: Callable[[F64], F64], share: float = 0.02) -> float:
    """Seconds from half way until `course` stays within ± share of HOLD."""
    grid = np.linspace(0.0, 4.0, 400_001)
    off = np.abs(course(grid) - HOLD) - share * HOLD
    last = int(np.flatnonzero(off > 0)[-1])
    at = brentq(lambda t: float(np.abs(course(t) - HOLD) - share * HOLD), *grid[last : last + 2])
    half = brentq(lambda t: float(course(t) - (IDLE + HOLD) / 2), 0.0, 0.2)
    return float(at - half)


def test_a_slow_entry_is_held_by_its_interval_and_not_late(made_up: Make) -> None:
    """Noise takes a creeping pressure out of its band again; that must not count as settling late.

    How far the truth may be off is the noise that smoothing leaves, over the slope of the entry.
    """
    true = settles_at(creeping)
    found = [figure(pump_of(made_up, creeping, 1.5e5, seed).settle) for seed in range(8)]
    off = np.array([f.value - true for f in found])
    assert np.all(np.abs(off) <= [f.expanded for f in found])
    slope = 0.02 * HOLD / 0.4
    assert abs(float(np.mean(off))) < 1.5e5 / slope / 2
    assert max(f.parts[budget.NOISE_OVER_SLOPE] for f in found) < 1.5e5 / slope


def test_turning_back_at_the_edge_of_the_band_is_not_told_for_sure(made_up: Make) -> None:
    """A top at 1.98 % of settled: whether it left ± 2 % no noisy sample can say."""

    def turning(t: F64) -> F64:
        top = 0.0198 * HOLD * (t / 0.2) * np.exp(1 - t / 0.2)
        return np.asarray(HOLD - (HOLD - IDLE) * np.exp(-t / 0.02) + top)

    settle = figure(pump_of(made_up, turning, 1e5, 1).settle)
    inside = settles_at(turning)
    beyond = 0.2 - 0.02 * np.log(2)
    assert inside < 0.1
    for possible in (inside, beyond):
        assert settle.expanded is not None
        assert abs(settle.value - possible) <= 1.05 * settle.expanded


def test_half_way_carries_the_lag_of_the_record(made_up: Make) -> None:
    """The record's instant stands; how far it may lie behind the pump's is in the ±."""
    t50 = figure(pump_of(made_up, creeping, 2e4, 3).t50)
    half = brentq(lambda t: float(creeping(t) - (IDLE + HOLD) / 2), 0.0, 0.2)
    own = np.hypot(t50.parts["fit"], t50.parts[budget.LEVELS])
    assert abs(t50.value - BEGIN - half) < 3 * own + 1e-4
    assert t50.parts[budget.RECORD_LAG] == pytest.approx(np.hypot(USUAL.seconds, USUAL.sd))


def test_the_level_before_a_slow_lever_is_the_idle_level(made_up: Make) -> None:
    """The pressure creeps up by 8 bar in a second before it rises: that is not where it stood."""

    def slow(t: F64) -> F64:
        creep = 8e5 * np.minimum(t, 1.0)
        rise = (HOLD - IDLE - 8e5) * (1 - np.exp(-np.maximum(t - 1.0, 0.0) / 0.06))
        return np.asarray(IDLE + creep + rise)

    initial = figure(pump_of(made_up, slow, 2e4, 2).initial)
    assert initial.value == pytest.approx(IDLE, abs=4e4)
    assert initial.window is not None
    assert initial.window.end_s < BEGIN + 0.3


def test_an_overshoot_that_would_not_stand_out_may_hide(made_up: Make) -> None:
    """None is said; the ± reaches as far as one that would just have stood out."""
    for seed in range(3):
        pump = pump_of(made_up, creeping, 1.5e5, seed)
        overshoot = figure(pump.overshoot)
        assert overshoot.value == 0.0
        # 2.5 times the deviation of a mean over 30 ms, bounded on one side (4.3.7).
        least = 2.5 * 1.5e5 / np.sqrt(0.03 * RATE) / (HOLD - IDLE) * 100
        assert overshoot.expanded is not None
        assert overshoot.expanded >= 0.8 * 2 * least / np.sqrt(3)
        assert overshoot.expanded < 1.0


def test_settled_says_that_it_drifts(made_up: Make) -> None:
    """A hold that falls by 1 bar a second: which second is meant is open (4.3.7)."""

    def falling(t: F64) -> F64:
        return np.asarray(creeping(t) - 1e5 * np.maximum(t - 1.5, 0.0))

    settled = figure(pump_of(made_up, falling, 2e4, 4).settled)
    assert settled.window is not None
    length = settled.window.end_s - settled.window.start_s
    assert settled.parts[budget.TREND] == pytest.approx(1e5 * length / np.sqrt(12), rel=0.1)
