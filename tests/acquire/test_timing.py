"""Device time to session time: bursts, drift, roll-over, restarts, gaps; no wall clock."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from gaugebench.acquire.timing import StreamTimer
from gaugebench.driver import Batch, Input, Stream
from gaugebench.model.arrays import F64
from gaugebench.model.block import Block
from gaugebench.model.event import ClockFit, GapSeen
from gaugebench.model.quality import Quality
from gaugebench.model.trace import Gap

Floats = NDArray[np.floating[Any]]
WRAP_MS32 = 2.0**32 * 1e-3


@dataclass
class Bench:
    """A timer and what it handed on."""

    wrap_s: float | None = WRAP_MS32
    rate_hz: float | None = None
    step_s: float = 1e-3
    blocks: list[Block] = field(default_factory=list)
    gaps: list[Gap] = field(default_factory=list)
    fits: list[ClockFit] = field(default_factory=list)

    def __post_init__(self) -> None:
        stream = Stream("s", (Input("a", "bar"),), self.rate_hz, self.wrap_s, self.step_s)
        self.timer = StreamTimer(stream, "board", 0, (0,), self._take)

    def _take(self, event: Block | GapSeen | ClockFit) -> None:
        if isinstance(event, Block):
            self.blocks.append(event)
        elif isinstance(event, GapSeen):
            self.gaps.append(event.gap)
        else:
            self.fits.append(event)

    def rows(self, arrival: Floats, device: Floats | None = None, lost: int = 0) -> None:
        raw = np.zeros((len(arrival), 1))
        sent = None if device is None else np.asarray(device, dtype=np.float64)
        self.timer.take(Batch(0, raw, np.asarray(arrival, dtype=np.float64), sent, lost))

    def feed(self, device: Floats, arrival: Floats, size: int = 16) -> None:
        for at in range(0, len(device), size):
            part = slice(at, at + size)
            self.rows(arrival[part], device[part])

    @property
    def times(self) -> F64:
        return np.concatenate([b.times for b in self.blocks])

    @property
    def quality(self) -> F64:
        return np.concatenate([b.quality[:, 0] for b in self.blocks])


BURSTS = np.repeat([0.0, 0.016, 0.033], [16, 16, 15])


def test_bursts_with_a_device_clock_keep_the_devices_rate() -> None:
    bench = Bench()
    bench.feed(np.arange(47) * 1e-3, BURSTS)
    assert np.diff(bench.times) == pytest.approx(1e-3, rel=1e-9)
    assert bench.timer.pace.interval_s == pytest.approx(1e-3)
    assert not bench.quality.any()
    assert not bench.gaps


def test_bursts_without_a_device_clock_are_spread_and_say_so() -> None:
    bench = Bench(wrap_s=None)
    for at in (0.0, 0.016, 0.033):
        bench.rows(BURSTS[at == BURSTS])
    assert np.all(np.diff(bench.times) > 0)
    assert np.diff(bench.times)[:31] == pytest.approx(1e-3, rel=1e-6)
    assert bench.times[-1] == pytest.approx(0.033)
    assert np.all(bench.quality == Quality.TIME_ESTIMATED)


def test_a_first_burst_that_stays_alone_is_not_lost() -> None:
    bench = Bench(wrap_s=None)
    bench.rows(np.full(16, 0.5))
    assert not bench.blocks
    bench.timer.flush()
    assert len(bench.times) == 16


def test_without_a_device_clock_a_silence_is_a_gap() -> None:
    bench = Bench(wrap_s=None)
    for at in [*np.arange(0.0, 1.0, 0.01), 3.0, 3.01]:
        bench.rows(np.array([at]))
    assert [(g.start_s, g.end_s, g.lost) for g in bench.gaps] == [(0.99, 3.0, None)]
    assert np.flatnonzero(bench.quality.astype(int) & Quality.AFTER_GAP).tolist() == [100]


def test_a_restart_begins_anew_and_settles() -> None:
    # A brown-out: the board prints its banner and counts from 0 again; the host's time goes on.
    bench = Bench()
    bench.rows(np.array([9.000, 9.010]), np.array([5.010, 5.020]))
    after = np.arange(30) * 0.01
    bench.rows(9.5 + after, after)
    assert bench.times[:2] == pytest.approx([9.0, 9.01])
    assert bench.times[2:] == pytest.approx(9.5 + after)
    assert [g.why for g in bench.gaps] == ["the device restarted"]
    assert (bench.gaps[0].start_s, bench.gaps[0].end_s) == pytest.approx((9.01, 9.5))
    quality = bench.quality.astype(int)
    assert quality[2] & Quality.AFTER_GAP
    settling = np.flatnonzero(quality & Quality.SETTLING)
    assert settling.tolist() == list(range(2, 32)), "half a second and ten rows at least"


def test_settling_ends() -> None:
    bench = Bench()
    bench.timer.break_off("the device restarted", settling=True)
    after = np.arange(200) * 0.01
    bench.feed(after, 1 + after)
    settling = np.flatnonzero(bench.quality.astype(int) & Quality.SETTLING)
    assert settling.tolist() == list(range(50))


@pytest.mark.parametrize(
    ("wrap_s", "step_s"), [(WRAP_MS32, 1e-3), (2.0**32 * 1e-6, 1e-6), (65.536, 1e-3)]
)
def test_a_roll_over_is_not_a_restart(wrap_s: float, step_s: float) -> None:
    bench = Bench(wrap_s=wrap_s, step_s=step_s)
    true = np.arange(1000) * 0.01
    bench.feed((true + wrap_s - 3.0) % wrap_s, 1 + true)
    assert not bench.gaps
    assert bench.times == pytest.approx(1 + true, abs=1e-6)
    assert not bench.quality.any()


def test_a_restart_close_to_the_roll_over_is_told_by_the_host_time() -> None:
    bench = Bench(wrap_s=65.536)
    bench.rows(np.array([1.0, 1.01]), np.array([65.52, 65.53]))
    bench.rows(np.array([9.0, 9.01]), np.array([0.0, 0.01]))
    assert [g.why for g in bench.gaps] == []
    # 0.006 s on the device, 8 s on the host: it may have rolled over, but then rows were held up;
    # the line is kept until the device has been late for long.
    bench = Bench(wrap_s=65.536)
    bench.rows(np.array([1.0, 1.01]), np.array([30.0, 30.01]))
    bench.rows(np.array([1.5, 1.51]), np.array([0.0, 0.01]))
    assert [g.why for g in bench.gaps] == ["the device restarted"]


@pytest.mark.parametrize(
    ("rate_hz", "missing"),
    [(rate, n) for rate in (200.0, 300.0, 1000.0) for n in (1, 2, 7, 500)]
    + [(700.0, n) for n in (2, 7, 500)],  # one alone cannot be told from the clock's own step
)
def test_missing_rows_are_counted(rate_hz: float, missing: int) -> None:
    # The device's clock has whole milliseconds, so at 300 and 700 a second its steps are uneven.
    true = np.arange(1000) / rate_hz
    kept = np.ones(1000, dtype=bool)
    kept[400 : 400 + missing] = False
    device = np.floor(true[kept] * 1e3) / 1e3
    bench = Bench()
    bench.feed(device, 1 + true[kept])
    assert [(g.lost, g.why) for g in bench.gaps] == [(missing, "rows did not arrive")]
    assert np.flatnonzero(bench.quality.astype(int) & Quality.AFTER_GAP).tolist() == [400]
    assert bench.timer.lost == missing


def test_a_rate_that_the_kit_states_wrongly_makes_no_gaps() -> None:
    true = np.arange(2000) * 0.01
    bench = Bench(rate_hz=200.0)
    bench.feed(true, 1 + true)
    assert not bench.gaps
    assert bench.timer.pace.interval_s == pytest.approx(0.01)


def test_a_device_that_becomes_slower_makes_few_gaps_and_a_faster_one_none() -> None:
    slower = np.concatenate([np.arange(500) * 0.005, 2.5 + np.arange(500) * 0.02])
    bench = Bench()
    bench.feed(slower, 1 + slower)
    assert len(bench.gaps) <= 48
    assert bench.gaps[-1].end_s < 1 + 2.5 + 48 * 0.02 + 0.1
    faster = np.concatenate([np.arange(500) * 0.02, 10.0 + np.arange(3000) * 0.005])
    bench = Bench()
    bench.feed(faster, 1 + faster)
    assert not bench.gaps
    assert bench.timer.pace.interval_s == pytest.approx(0.005, rel=1e-3)


def test_rows_that_the_device_counted_as_lost_are_a_gap() -> None:
    bench = Bench(rate_hz=100.0)
    bench.rows(np.array([1.0, 1.01]), np.array([0.0, 0.01]))
    bench.rows(np.array([1.05]), np.array([0.05]), lost=3)
    assert [g.lost for g in bench.gaps] == [3]
    assert bench.timer.lost == 3
    assert bench.times == pytest.approx([1.0, 1.01, 1.05])


@pytest.mark.parametrize("drift_ppm", [-80.0, 0.0, 35.0, 150.0])
def test_drift_is_found_and_samples_stay_on_the_session_clock(drift_ppm: float) -> None:
    random = np.random.default_rng(11)
    true = np.arange(0, 120, 0.005)
    device = np.round(5.0 + true / (1 + drift_ppm * 1e-6), 6)
    arrival = np.ceil((true + 0.0005) / 0.016) * 0.016 + random.exponential(0.001, len(true))
    bench = Bench(step_s=1e-6)
    bench.feed(device, np.maximum.accumulate(arrival), 4)
    assert bench.timer.drift_ppm == pytest.approx(drift_ppm, abs=20)
    late = bench.times - true
    assert np.all(np.abs(late) < 0.018), "never off by more than one burst"
    assert np.all(np.abs(late[len(late) // 2 :]) < 0.003)
    # No step is distorted by more than the line may turn, nor by more than drift itself.
    assert np.all(np.abs(np.diff(bench.times) / 0.005 - 1) < 2.5e-3)
    assert np.all(np.abs(np.diff(bench.times[8000:]) / 0.005 - 1) < 0.6e-3)
    assert [f.segment for f in bench.fits] == [0] * len(bench.fits)
    assert bench.fits[-1].drift_ppm == pytest.approx(drift_ppm, abs=20)
    assert not bench.gaps


def test_a_clock_that_stood_still_while_the_host_went_on_is_laid_anew() -> None:
    bench = Bench()
    first = np.arange(0, 5, 0.01)
    bench.feed(first, 1 + first)
    later = np.arange(5, 15, 0.01)
    bench.feed(later, 11 + later)
    assert bench.gaps[-1].why == "the device's clock stood still"
    assert bench.times[-1] == pytest.approx(11 + later[-1], abs=0.02)
    assert np.all(np.diff(bench.times) > 0)


def test_a_clock_that_jumped_ahead_is_laid_anew_at_once() -> None:
    bench = Bench()
    first = np.arange(0, 5, 0.01)
    bench.feed(first, 1 + first)
    bench.feed(first + 100, 6 + first)
    assert bench.gaps[0].why == "the device's clock jumped"
    assert bench.times[-1] == pytest.approx(6 + first[-1], abs=0.02)


def test_rows_of_one_tick_are_spread_over_it() -> None:
    bench = Bench(rate_hz=4000.0)
    true = np.arange(400) / 4000.0
    bench.feed(np.floor(true * 1e3) / 1e3, 1 + true, 40)
    steps = np.diff(bench.times)
    assert steps == pytest.approx(0.25e-3, rel=1e-6)
    estimated = bench.quality.astype(int) & Quality.TIME_ESTIMATED
    assert np.count_nonzero(estimated) == 300


@settings(max_examples=60)
@given(
    st.lists(
        st.tuples(
            st.integers(1, 9),
            st.floats(-2.0, 5.0, allow_nan=False),
            st.floats(0.0, 3.0, allow_nan=False),
        ),
        min_size=1,
        max_size=40,
    ),
    st.sampled_from([None, math.inf, 65.536]),
)
def test_whatever_clocks_do_times_increase_and_no_row_is_lost(
    moves: list[tuple[int, float, float]], wrap_s: float | None
) -> None:
    bench = Bench(wrap_s=wrap_s)
    device = arrival = 10.0
    total = 0
    for rows, by, waited in moves:
        arrival += waited
        device = abs(device + by)
        steps = device + np.arange(rows) * 0.001
        wrapped = steps % wrap_s if wrap_s and math.isfinite(wrap_s) else steps
        bench.rows(np.full(rows, arrival), None if wrap_s is None else wrapped)
        device = float(steps[-1])
        total += rows
    bench.timer.flush()
    assert len(bench.times) == total
    assert np.all(np.diff(bench.times) > 0)
    assert np.all(np.isfinite(bench.times))
    assert bench.times[-1] <= arrival + 0.6 + 1e-7 * total
