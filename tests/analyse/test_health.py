"""Channel health: on faults put into live channels, and on measured data."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaugebench.analyse.health import Health, examine
from gaugebench.analyse.sick import Ailment
from gaugebench.model.arrays import F64
from gaugebench.model.channel import Channel
from gaugebench.model.quality import Quality
from gaugebench.model.role import Role
from gaugebench.model.trace import Series, Trace
from gaugebench.quantity import Dimension

RATE = 200.0
STEP = 600e5 / 4096
DATA = Path(__file__).parent / "data"


def trace_of(
    channels: Mapping[str, F64], rate: float = RATE, bits: Mapping[str, int] | None = None
) -> Trace:
    """A trace of pressures in Pa, on even times; bits: quality set on all samples of a channel."""
    times = np.arange(len(next(iter(channels.values())))) / rate
    return Trace(
        tuple(
            Series(
                Channel(name, Role(name) if "." in name else None),
                times,
                values,
                np.full(len(times), (bits or {}).get(name, 0), np.uint16),
            )
            for name, values in channels.items()
        )
    )


def machine(seed: int = 1, seconds: float = 20.0) -> dict[str, F64]:
    """Two pumps, loaded between 5 s and 12 s, as 12-bit samples with ripple and noise, Pa."""
    rng = np.random.default_rng(seed)
    t = np.arange(int(seconds * RATE)) / RATE
    channels: dict[str, F64] = {}
    for name, low, high in (
        ("pump1.main", 25e5, 340e5),
        ("pump2.main", 25e5, 350e5),
        ("pump1.control", 30e5, 4e5),
        ("pump2.control", 30e5, 5e5),
    ):
        push = np.clip((t - 5) / 0.2, 0, 1) * (t < 12)
        clean = low + (high - low) * push + 1.5e5 * np.sin(2 * np.pi * 43.0 * t + len(channels))
        noisy = clean + 0.5e5 * rng.standard_normal(len(t))
        channels[name] = np.round(noisy / STEP) * STEP
    return channels


def ailments(health: Health) -> set[tuple[str, Ailment]]:
    return {(s.channel, s.ailment) for s in health.sick}


@pytest.mark.parametrize("seed", range(5))
def test_live_channels_are_well(seed: int) -> None:
    assert examine(trace_of(machine(seed))).sick == ()


def test_machine_at_rest_is_well() -> None:
    """Quiet 12-bit channels that repeat themselves with the engine off are no fault."""
    still = {name: np.full(4000, k * STEP) for k, name in enumerate(machine())}
    assert examine(trace_of(still)).sick == ()


@pytest.mark.parametrize(("start_s", "end_s"), [(6.0, 8.0), (2.0, 9.0), (0.0, 20.0), (9.0, 14.0)])
def test_frozen_channel_is_stuck(start_s: float, end_s: float) -> None:
    channels = machine()
    part = slice(int(start_s * RATE), int(end_s * RATE))
    channels["pump2.main"][part] = channels["pump2.main"][part][0]
    health = examine(trace_of(channels))
    assert ailments(health) == {("pump2.main", Ailment.STUCK)}
    found = health.of("pump2.main")[0]
    assert (found.start_s, found.end_s) == pytest.approx((start_s, end_s), abs=0.02)
    cautions, reason = health.against("pump2.main", start_s, end_s)
    assert cautions == ()
    assert reason is not None
    assert "stuck or dead" in reason
    assert health.against("pump1.main", 6.0, 8.0) == ((), None)


def test_dead_channel_at_zero_is_no_released_pressure() -> None:
    channels = machine()
    channels["pump1.main"][:] = 0.0
    health = examine(trace_of(channels))
    assert ailments(health) == {("pump1.main", Ailment.STUCK)}


@pytest.mark.parametrize("step_bar", [0.5, 1.0])
@pytest.mark.parametrize("rate", [20.0, 50.0, 200.0])
def test_coarse_quiet_channels_are_well(step_bar: float, rate: float) -> None:
    """A filtered transducer that shows whole or half bars stands still on every plateau."""
    t = np.arange(int(20 * rate)) / rate
    rng = np.random.default_rng(6)
    channels = {}
    for name, start, level in (("pump1.main", 4.0, 343.2), ("pump2.main", 9.0, 338.6)):
        push = np.clip((t - start) / 0.4, 0, 1) * (t < 14)
        bars = 25.3 + (level - 25.3) * push + 0.02 * rng.standard_normal(len(t))
        channels[name] = np.round(bars / step_bar) * step_bar * 1e5
    assert examine(trace_of(channels, rate)).sick == ()


def test_repeated_samples_are_not_stuck() -> None:
    channels = {name: np.repeat(values[::10], 10) for name, values in machine().items()}
    assert examine(trace_of(channels)).sick == ()


def test_missing_samples_are_not_stuck() -> None:
    channels = machine()
    channels["pump1.main"][1000:1400] = np.nan
    assert examine(trace_of(channels)).sick == ()


def test_copied_channel() -> None:
    channels = machine()
    channels["pump2.main"] = channels["pump1.main"].copy()
    health = examine(trace_of(channels))
    assert ailments(health) == {
        ("pump1.main", Ailment.COPIED),
        ("pump2.main", Ailment.COPIED),
    }
    assert health.of("pump2.main")[0].other == "pump1.main"
    cautions, reason = health.against("pump2.main", 5.0, 12.0)
    assert "very samples of pump1.main" in cautions[0]
    assert reason is None


@pytest.mark.parametrize("late", [1, -1])
def test_copy_one_sample_late(late: int) -> None:
    channels = machine()
    channels["pump2.main"] = np.roll(channels["pump1.main"], late)
    assert ("pump2.main", Ailment.COPIED) in ailments(examine(trace_of(channels)))


def test_copy_for_a_while() -> None:
    channels = machine()
    channels["pump2.main"][1600:2000] = channels["pump1.main"][1600:2000]
    found = examine(trace_of(channels)).of("pump2.main")
    assert [s.ailment for s in found] == [Ailment.COPIED]
    assert (found[0].start_s, found[0].end_s) == pytest.approx((8.0, 10.0), abs=0.02)


def test_copy_in_another_unit() -> None:
    channels = machine()
    scaled = channels["pump1.main"] / 6894.757293168361
    channels["pump2.main"] = np.round(scaled) * 6894.757293168361
    assert ("pump2.main", Ailment.COPIED) in ailments(examine(trace_of(channels)))


def test_two_transducers_on_one_line_are_no_copies() -> None:
    """The same true pressure, ripple and all, but each with its own noise and zero."""
    rng = np.random.default_rng(8)
    channels = machine()
    true = channels["pump1.main"]
    channels["pump2.main"] = (
        np.round((true + 0.4e5 + 0.3e5 * rng.standard_normal(len(true))) / STEP) * STEP
    )
    assert examine(trace_of(channels)).sick == ()


@pytest.mark.parametrize("seed", range(8))
def test_two_coarse_transducers_on_one_line_are_no_copies(seed: int) -> None:
    """Whole bars, hardly any noise, a tenth of a bar apart: mostly the very same numbers."""
    rng = np.random.default_rng(seed)
    t = np.arange(1000) / 50
    push = np.clip((t - 4) / 0.6, 0, 1) * (t < 14)
    true = 25.3 + rng.uniform(0, 1) + 315 * push
    channels = {
        name: np.round(true + zero + 0.02 * rng.standard_normal(len(t))) * 1e5
        for name, zero in (("pump1.main", 0.0), ("pump2.main", 0.1))
    }
    assert examine(trace_of(channels, 50.0)).sick == ()


def test_cut_off_peaks_are_clipped() -> None:
    channels = machine()
    channels["pump1.main"] = np.minimum(channels["pump1.main"], 339e5)
    health = examine(trace_of(channels))
    assert ailments(health) == {("pump1.main", Ailment.CLIPPED)}
    assert all(5.0 < s.start_s < 12.0 for s in health.sick)
    cautions, reason = health.against("pump1.main", 5.0, 12.0)
    assert reason is None
    assert "upper end" in cautions[0]


def test_bits_become_spans() -> None:
    channels = machine()
    health = examine(trace_of(channels, bits={"pump1.main": int(Quality.WIRE_OFF)}))
    assert ailments(health) == {("pump1.main", Ailment.WIRE_OFF)}
    times = np.arange(4000) / RATE
    quality = np.zeros(4000, np.uint16)
    quality[1000:1010] = int(Quality.OVER_RANGE)
    quality[1300:1310] = int(Quality.OVER_RANGE)
    quality[1320:1330] = int(Quality.OVER_RANGE)
    series = Series(Channel("P"), times, channels["pump1.main"], quality)
    spans = [t for s in examine(Trace((series,))).sick for t in (s.start_s, s.end_s)]
    assert spans == pytest.approx([5.0, 5.045, 6.5, 6.645])


def test_below_vacuum_is_a_wire() -> None:
    channels = machine()
    channels["pump1.main"][:] = -150e5 + np.tile([0.0, STEP, -STEP, 2 * STEP], 1000)
    assert ("pump1.main", Ailment.WIRE_OFF) in ailments(examine(trace_of(channels)))


def test_zero_off() -> None:
    rng = np.random.default_rng(3)
    channels = machine()
    channels["pump2.main"] = channels["pump2.main"] - 25e5 - 6e5
    health = examine(trace_of(channels))
    assert ailments(health) == {("pump2.main", Ailment.ZERO_SHIFTED)}
    assert "−6.0 bar" in health.sick[0].note
    suction = -0.3e5 + 0.02e5 * rng.standard_normal(4000)
    assert examine(trace_of({"case.pressure": suction})).sick == ()


def test_slow_channel_shows_its_true_rate() -> None:
    channels = machine()
    channels["pump1.control"] = np.repeat(channels["pump1.control"][::5], 5)
    vitals = {v.channel: v for v in examine(trace_of(channels)).vitals}
    assert vitals["pump1.control"].update_hz == pytest.approx(40.0, rel=0.02)
    assert vitals["pump1.main"].update_hz is None
    assert vitals["pump1.main"].rate_hz == pytest.approx(RATE)


def test_noise_at_rest() -> None:
    rng = np.random.default_rng(9)
    quiet = 25e5 + 0.5e5 * rng.standard_normal(4000) + 40e5 * np.sin(np.arange(4000) / 600)
    vitals = examine(trace_of({"P": quiet})).vitals[0]
    assert vitals.noise == pytest.approx(0.5e5, rel=0.15)


def test_test_rig() -> None:
    """Measured: PS5 and PS6 read one circuit and are no copies; a shut branch stands at zero.

    “Condition monitoring of hydraulic systems”, UCI data set 447 (see data/README.md).
    """
    columns = np.loadtxt(DATA / "hydraulic_rig.csv.gz", delimiter=",", skiprows=1).T * 1e5
    channels = {f"PS{k + 1}": column for k, column in enumerate(columns)}
    health = examine(trace_of(channels, rate=100.0))
    assert ailments(health) == {("PS2", Ailment.FLOORED), ("PS3", Ailment.FLOORED)}
    cautions, reason = health.against("PS2", 2.0, 9.0)
    assert "lower end" in cautions[0]
    assert reason is None


def test_other_quantities_may_stand_still() -> None:
    channels = machine()
    trace = trace_of(channels)
    speed = Series(
        Channel("n", Role("engine.speed"), Dimension.SPEED),
        trace.series[0].times,
        np.full(4000, 2000.0),
        np.zeros(4000, np.uint16),
    )
    assert examine(Trace((*trace.series, speed))).sick == ()


def test_empty_series_is_passed_over() -> None:
    none = np.zeros(0)
    assert examine(Trace((Series(Channel("P"), none, none, none.astype(np.uint16)),))).vitals == ()


@given(
    scale=st.sampled_from([1.0, 1e-5, 14.503773773e-5, 0.1]),
    late=st.floats(-1e4, 1e4),
    order=st.permutations(["pump1.main", "pump2.main", "pump1.control", "pump2.control"]),
    frozen=st.sampled_from([None, "pump1.main", "pump2.main"]),
)
@settings(max_examples=25, deadline=None)
def test_unit_clock_and_order_do_not_matter(
    scale: float, late: float, order: list[str], frozen: str | None
) -> None:
    channels = machine()
    if frozen is not None:
        channels[frozen][1300:1900] = channels[frozen][1300]
    plain = {(s.channel, s.ailment, s.start_s) for s in examine(trace_of(channels)).sick}
    moved = trace_of({name: channels[name] * scale for name in order})
    shifted = Trace(tuple(replace(s, times=s.times + late) for s in moved.series))
    other = {(s.channel, s.ailment, round(s.start_s - late, 6)) for s in examine(shifted).sick}
    assert other == {(name, ailment, round(start, 6)) for name, ailment, start in plain}


@pytest.mark.parametrize("count", [1, 2, 5, 30])
def test_short_series_have_no_opinion(count: int) -> None:
    health = examine(trace_of({"P": np.linspace(0.0, 1e5, count)}))
    assert health.sick == ()
    assert (health.vitals[0].noise, health.vitals[0].update_hz) == (None, None)
