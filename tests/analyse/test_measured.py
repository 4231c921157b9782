"""Waveform and hold figures on measured data, with what is known of it from elsewhere."""

from pathlib import Path

import numpy as np
import pytest

from gaugebench.analyse import budget, waveform
from gaugebench.analyse.waveform import Levels
from gaugebench.model.arrays import F64

DATA = Path(__file__).parent / "data"
PSI = 6894.757293168361


@pytest.mark.parametrize(
    ("column", "seconds"), [(0, 0.57), (1, 0.545), (2, 0.51), (3, 0.455)], ids=str
)
def test_rise_follows_the_precharge(column: int, seconds: float) -> None:
    """The less an accumulator is precharged, the faster the rise (see data/README.md)."""
    bars = np.loadtxt(DATA / "hydraulic_rig_rises.csv.gz", delimiter=",", skiprows=1)[:, column]
    times = np.arange(len(bars)) / 100
    levels = Levels(float(np.min(bars[:3])), float(np.mean(bars[300:])))
    assert levels.high == pytest.approx(191.45, abs=0.1)
    assert waveform.transition(times, bars, levels) == pytest.approx(seconds, abs=0.01)


def pushes() -> list[tuple[F64, F64, F64, F64]]:
    """Time, ram speed, motor speed (unsigned) and pressure (Pa) of each push's running part."""
    columns = np.loadtxt(DATA / "ram_pushes.csv.gz", delimiter=",", skiprows=1).T
    t, speed, rpm, psig = columns[0], columns[1], np.abs(columns[2]), columns[3]
    runs = (rpm > 200) & (psig > 0)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], runs, [False]))))
    return [
        (t[a:b], speed[a:b], rpm[a:b], psig[a:b] * PSI)
        for a, b in zip(edges[::2], edges[1::2], strict=True)
        if b - a > 80 and np.max(psig[a:b]) > 1500
    ]


def test_ram_against_its_relief() -> None:
    """Where motor turns for ram travel fall off, oil passes the relief: an independent witness.

    The plateau pressures must then lie above the 2850 psi to which the ram's own model sets it,
    and below where they do not; peaks stand 5 to 41 % above their plateau.
    """
    found = pushes()
    assert len(found) == 7
    plateaus, ratios, peaks = [], [], []
    for t, speed, rpm, pressure in found:
        steady = (t > t[0] + 0.35 * (t[-1] - t[0])) & (t < t[-1] - 0.3)
        held = budget.held_mean(pressure[steady])
        assert held.standard < 0.01 * held.mean
        plateaus.append(held.mean / PSI)
        ratios.append(float(np.median(rpm[steady]) / np.median(speed[steady])))
        levels = Levels(0.0, held.mean)
        peaks.append(waveform.overshoot_pct(float(np.max(pressure)), levels))
    wanted = [1915, 2119, 2307, 2618, 2888, 2904, 2917]
    assert plateaus == pytest.approx(wanted, rel=0.008)
    passing = [ratio < 268 for ratio in ratios]
    assert passing == [False, False, False, False, True, True, True]
    assert [plateau > 2850 for plateau in plateaus] == passing
    assert all(5 < peak < 42 for peak in peaks)
