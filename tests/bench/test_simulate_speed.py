"""How fast the practice machine runs: process time, one core."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from gaugebench.session.simulated import simulate_to
from gaugebench.simulate.moves import Move, Script
from gaugebench.simulate.perform import Performance
from gaugebench.simulate.plant import Control, standard_plant
from gaugebench.simulate.rig import Rig
from gaugebench.simulate.script import run
from gaugebench.simulate.visit import demo_script
from tests.bench.conftest import Measured

pytestmark = pytest.mark.bench

LEVERS = {
    "neutral": (),
    "one lever": ("bucket",),
    "two levers": ("bucket", "arm"),
    "three levers": ("boom", "bucket", "arm"),
}


@pytest.mark.parametrize("control", list(Control))
@pytest.mark.parametrize("levers", LEVERS)
def test_real_time_at_1_khz_takes_a_quarter_of_a_core_at_the_most(
    control: Control, levers: str, measured: Measured
) -> None:
    moves = tuple(Move(name, 0.0, 60.0) for name in LEVERS[levers])
    script = Script(60.0, moves, plant=standard_plant(control))
    performance, rig = Performance(script), Rig()
    best = float("inf")
    for part in range(4):
        began = time.process_time()
        for k in range(500):
            now = part * 0.5 + k * 1e-3
            rig.sample(performance.at(now), now)
        best = min(best, time.process_time() - began)
    share = best / 0.5
    measured(
        f"practice machine, {control}, {levers}: of a core at 1 kHz", 100 * share, "%", limit=25
    )
    assert share <= 0.25


SAMPLES = Path(__file__).parents[2] / "sample_traces"


@pytest.mark.parametrize("script", sorted(SAMPLES.glob("*.toml")), ids=lambda p: p.stem)
def test_a_sample_trace_is_made_again_bit_for_bit(script: Path, tmp_path: Path) -> None:
    """In the pinned environment, by the command that `sample_traces/README.md` names."""
    for made in simulate_to(script, tmp_path / f"{script.stem}.csv.gz", truth=True):
        assert made.read_bytes() == (SAMPLES / made.name).read_bytes(), made.name


def test_headless_runs_faster_than_real_time(measured: Measured) -> None:
    script = demo_script()
    began = time.process_time()
    run(script)
    ratio = script.duration_s / (time.process_time() - began)
    measured("the demonstration headless, times real time, at least", ratio, "", limit=4)
    assert ratio > 4
