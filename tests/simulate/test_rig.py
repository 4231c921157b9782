"""What a transducer and its wiring make of a pressure."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from gaugebench.simulate.machine import Reading
from gaugebench.simulate.moves import Script
from gaugebench.simulate.plant import BAR
from gaugebench.simulate.rig import STANDARD, Probe, Rig, Rigging, drawn
from gaugebench.simulate.script import run
from gaugebench.simulate.scriptfile import script_from

STILL = Probe("p1", 600 * BAR, bits=24, lag_s=1e-6)


def read(probe: Probe, pressures: np.ndarray, step_s: float = 1e-3, seed: int = 1) -> np.ndarray:
    """Volts of `probe` as main pressure 1 goes through `pressures`."""
    probes = tuple(probe if p.name == "p1" else p for p in STANDARD)
    rig = Rig(Rigging(probes), seed)
    rows = [
        rig.sample(Reading((p, 0.0), (0.0, 0.0), 0.0, 2000.0, 50.0), k * step_s)
        for k, p in enumerate(pressures.tolist())
    ]
    return np.array(rows)[:, 1]


def shown(probe: Probe, pressures: np.ndarray) -> np.ndarray:
    return (read(probe, pressures) - 0.5) / 4.0 * probe.range_pa


UP = np.linspace(0, 600 * BAR, 3001)


def test_zero_gain_and_drift_are_a_straight_line() -> None:
    probe = replace(STILL, zero_pa=2 * BAR, gain=1.01, drift_pa_s=0.5 * BAR)
    seconds = np.arange(len(UP)) * 1e-3
    wanted = 1.01 * UP + 2 * BAR + 0.5 * BAR * seconds
    within = wanted < 600 * BAR
    assert np.abs(shown(probe, UP) - wanted)[within].max() < 100.0


def test_bow_is_greatest_in_the_middle_and_nothing_at_the_ends() -> None:
    off = shown(replace(STILL, bow_pa=1.5 * BAR), UP) - UP
    assert off[[0, 1500, -1]] == pytest.approx([0.0, 1.5 * BAR, 0.0], abs=100.0)
    assert np.argmax(off) == pytest.approx(1500, abs=20)


def test_hysteresis_opens_between_up_and_down_and_spares_ripple() -> None:
    probe = replace(STILL, hysteresis_pa=1 * BAR)
    off = shown(probe, np.concatenate([UP, UP[::-1]])) - np.concatenate([UP, UP[::-1]])
    up, down = off[1500], off[-1501]
    # Half the range is 2.5 of the fifths after which 1/e is left: 1 − e^−2.5 on the way up; down
    # from the top, where it was 1 − e^−5, it has turned over to 1 − (2 − e^−5) e^−2.5.
    turned = 1 - (2 - np.exp(-5)) * np.exp(-2.5)
    assert up == pytest.approx(-(1 - np.exp(-2.5)) * BAR, rel=0.01)
    assert down == pytest.approx(turned * BAR, rel=0.01)
    ripple = 300 * BAR + 2 * BAR * np.sin(np.arange(2000) / 5)
    kept = shown(probe, np.concatenate([UP[:1501], ripple]))[-1000:]
    assert np.ptp(kept) == pytest.approx(np.ptp(ripple), rel=0.03)


def test_lag_is_of_first_order() -> None:
    step = np.concatenate([np.zeros(5), np.full(60, 300 * BAR)])
    seen = shown(replace(STILL, lag_s=0.01), step)
    # One time constant after the step 1 − 1/e has arrived.
    assert seen[4 + 10] == pytest.approx((1 - np.exp(-1)) * 300 * BAR, rel=1e-3)


def test_noise_and_the_converters_step_are_as_stated() -> None:
    noisy = shown(replace(STILL, noise_pa=0.4 * BAR), np.full(4000, 100 * BAR))
    assert noisy.std() == pytest.approx(0.4 * BAR, rel=0.05)
    volts = read(replace(STILL, bits=12), np.linspace(0, 600 * BAR, 12_001))
    steps = volts / (5.0 / 4095)
    assert np.abs(steps - np.round(steps)).max() < 1e-6
    assert len(np.unique(volts)) == pytest.approx(0.8 * 4095, abs=2)


def test_drawn_transducers_keep_their_class_and_use_it() -> None:
    """IEC 61298-2: accuracy covers non-linearity and hysteresis over both ways (from memory)."""
    worst = []
    for seed in range(200):
        for probe in drawn(Rigging(), seed).probes:
            levels = np.linspace(0, probe.range_pa, 21)
            errors = [abs(probe.shown(p, w) - p) for p in levels for w in (-1.0, 1.0)]
            worst.append(max(errors) / (0.01 * probe.class_pct * probe.range_pa))
    assert max(worst) <= 1.0
    assert 0.3 < float(np.median(worst)) < 0.8
    one, two = drawn(Rigging(), 3), drawn(Rigging(), 4)
    assert drawn(Rigging(), 3) == one != two
    for part in ("zero_pa", "gain", "bow_pa", "hysteresis_pa", "drift_pa_s", "lag_s", "noise_pa"):
        assert getattr(one.probes[1], part) != getattr(two.probes[1], part), part


def test_a_better_class_has_smaller_errors() -> None:
    fine = Rigging(tuple(replace(p, class_pct=0.1) for p in STANDARD))
    spread = [
        np.std([drawn(kit, seed).probes[1].zero_pa for seed in range(100)])
        for kit in (Rigging(), fine)
    ]
    # Both are the same draws, each in proportion to its class.
    assert spread[0] == pytest.approx(5 * spread[1], rel=1e-6)


def test_a_loose_contact_opens_for_its_share_of_the_time() -> None:
    volts = read(replace(STILL, loose=0.2), np.full(40_000, 100 * BAR))
    is_open = volts < 0.1
    assert is_open.mean() == pytest.approx(0.2, abs=0.05)
    lengths = np.diff(np.flatnonzero(np.diff(is_open.astype(int))))[::2]
    assert lengths.mean() == pytest.approx(50, rel=0.4)


def test_a_script_draws_its_transducers_by_its_seed() -> None:
    def script(seed: int, **kit: object) -> Script:
        return script_from({"schema": 1, "duration_s": 0.2, "kit": {"seed": seed, **kit}})

    assert script(5).rigging.probes[1].zero_pa == 0.0
    one = script(5, draw_errors=True, accuracy_pct_fs=1.0)
    assert one.rigging == script(5, draw_errors=True, accuracy_pct_fs=1.0).rigging
    assert one.rigging != script(6, draw_errors=True, accuracy_pct_fs=1.0).rigging
    trace, truth = run(one)
    channel = trace.series[1].channel
    assert channel.transducer.accuracy_pct_fs == 1.0
    assert truth["kit"][1] == {
        "name": "p1",
        "zero_pa": one.rigging.probes[1].zero_pa,
        "gain": one.rigging.probes[1].gain,
        "bow_pa": one.rigging.probes[1].bow_pa,
        "hysteresis_pa": one.rigging.probes[1].hysteresis_pa,
        "drift_pa_s": one.rigging.probes[1].drift_pa_s,
        "lag_s": one.rigging.probes[1].lag_s,
        "noise_pa": one.rigging.probes[1].noise_pa,
    }
    assert "kit" not in run(script(5))[1]
