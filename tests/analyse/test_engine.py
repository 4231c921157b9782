"""Droop and the curve of the mains' sum against speed, on made-up loadings of known truth."""

import numpy as np
import pytest

from gaugebench.analyse import engine
from gaugebench.model.arrays import F64
from gaugebench.model.figures import Absent, Answer, Figure


def lugging(*, low: float = 1880.0, back: bool = True, noise: float = 4.0) -> tuple[F64, F64]:
    """2000 rpm; from 3 s down to `low` in 0.5 s, held for 1 s, and back (or not); at 50 Hz."""
    t = np.arange(500) / 50
    knots = [0, 3, 3.5, 4.5, 5.0, 10]
    levels = [2000, 2000, low, low, 2000 if back else low, 2000 if back else low]
    return t, np.interp(t, knots, levels) + noise * np.random.default_rng(1).standard_normal(500)


def figure(answer: Answer) -> Figure:
    assert isinstance(answer, Figure), answer
    return answer


def reason(answer: object) -> str:
    assert isinstance(answer, Absent)
    return answer.reason


def test_droop() -> None:
    found = engine.droop(*lugging(), 3.0, 8.0)
    unloaded, lowest, share = figure(found.unloaded), figure(found.lowest), figure(found.droop)
    assert unloaded.value == pytest.approx(2000.0, abs=2.0)
    assert lowest.value == pytest.approx(1880.0, abs=4.0)
    assert share.value == pytest.approx(6.0, abs=0.2)
    assert share.expanded is not None
    assert abs(share.value - 6.0) < 2 * share.expanded < 1.0
    # from the lowest mean, somewhere in the held second, to 1980 rpm at 4.92 s
    assert 0.3 < figure(found.recovery).value < 1.6


def test_no_recovery() -> None:
    found = engine.droop(*lugging(back=False), 3.0, 8.0)
    assert "did not recover" in reason(found.recovery)
    still = engine.droop(*lugging(low=1995.0), 3.0, 8.0)
    assert "more than 1 %" in reason(still.recovery)


def test_droop_that_cannot_be_had() -> None:
    t, n = lugging()
    assert "before the loading" in reason(engine.droop(t, n, 0.05, 8.0).droop)
    assert "in the loading" in reason(engine.droop(t, n, 20.0, 22.0).lowest)
    assert "steady" in reason(engine.droop(t, n, 4.2, 8.0).unloaded)
    assert "not turning" in reason(engine.droop(t, 0 * n, 3.0, 8.0).unloaded)
    assert "before" in reason(engine.droop(t, np.full(500, np.nan), 3.0, 8.0).unloaded)


def test_sum_against_speed_follows_a_torque_control() -> None:
    """A control that lets the sum rise by 0.5 bar for every rpm above 1800."""
    rng = np.random.default_rng(2)
    speed_times = np.arange(200) / 20
    speeds = 1800 + 150 * np.sin(speed_times / 1.3)
    times = np.arange(2000) / 200
    true_speed = np.interp(times, speed_times, speeds)
    total = (400 + 0.5 * (true_speed - 1800)) * 1e5
    share = rng.uniform(0.45, 0.55, 2000)
    mains = (total * share, total * (1 - share))
    found = engine.sum_against_speed(times, mains, speed_times, speeds)
    assert isinstance(found, engine.SumCurve)
    wanted = (400 + 0.5 * (found.speeds - 1800)) * 1e5
    busy = found.counts > 20
    assert found.sums[busy] == pytest.approx(wanted[busy], abs=4e5)  # half a bin is 5 bar
    assert float(np.sum(found.counts)) == np.count_nonzero(times <= speed_times[-1])


def test_only_samples_where_torque_can_be_judged() -> None:
    times = np.arange(100) / 100
    speeds = np.full(100, 1900.0)
    both, stalled = np.full(100, 200e5), np.full(100, 340e5)
    found = engine.sum_against_speed(times, (both, both), times, speeds, relief_pa=340e5)
    assert isinstance(found, engine.SumCurve)
    assert found.sums == pytest.approx([400e5])
    refused = engine.sum_against_speed(times, (both, stalled), times, speeds, relief_pa=340e5)
    assert "50 to 80 %" in reason(refused)


def test_sum_is_not_drawn_across_a_gap_in_speed() -> None:
    times = np.arange(0, 4, 0.01)
    speed_times = np.array([0.0, 0.2, 0.4, 3.0, 3.2])
    main = np.full(len(times), 100e5)
    found = engine.sum_against_speed(times, (main,), speed_times, np.full(5, 1900.0))
    assert isinstance(found, engine.SumCurve)
    assert float(np.sum(found.counts)) == pytest.approx(62, abs=2)
    none = np.zeros(0)
    assert "main" in reason(engine.sum_against_speed(times, (), speed_times, np.ones(5)))
    assert "few" in reason(engine.sum_against_speed(times, (main,), none, none))
    late = engine.sum_against_speed(times, (main,), speed_times + 10, np.ones(5))
    assert "in common" in reason(late)
