"""Driver `replay`, on a clock moved by hand, and a whole trace through the session."""

from __future__ import annotations

import math
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gaugebench.acquire.acquisition import Acquisition
from gaugebench.acquire.clock import ManualClock, SystemClock
from gaugebench.driver import Batch, Input, Source
from gaugebench.errors import SourceError
from gaugebench.model.arrays import F64
from gaugebench.model.block import Block
from gaugebench.model.channel import Channel, Transducer
from gaugebench.model.conditioning import Chain
from gaugebench.model.event import Event, GapSeen
from gaugebench.model.kit import read_kit
from gaugebench.model.role import Role
from gaugebench.model.trace import Series, Trace
from gaugebench.quantity import Dimension, Reference
from gaugebench.session.replaying import DRIVER, ReplayOptions, ReplaySource, replay_kit
from gaugebench.store.tracefile import write_trace

FAST: F64 = np.arange(400.0) * 0.005 + 100.0
SLOW: F64 = np.arange(5.0) * 0.5 + 100.1


def series(name: str, times: F64, **more: Any) -> Series:
    channel = Channel(name, **{"reference": Reference.GAUGE, "raw_unit": "Pa", **more})
    values = np.arange(len(times), dtype=np.float64) * 1e4
    stream = "fast" if times is FAST else "slow"
    return Series(channel, times, values, np.zeros(len(times), dtype=np.uint16), stream)


TRACE = Trace(
    (
        series(
            "P1",
            FAST,
            role=Role.main(1),
            chain=Chain(range_low=0.0, range_high=6e7),
            transducer=Transducer(serial="T-1", proof_pa=9e7, accuracy_pct_fs=0.5),
        ),
        series("T", SLOW, dimension=Dimension.TEMPERATURE, reference=None, raw_unit="°C"),
        series("P2", FAST, role=Role.main(2), reference=Reference.ABSOLUTE),
    )
)
ALL = (Input("P1", "Pa"), Input("P2", "Pa"), Input("T", "°C"))


def played(clock: ManualClock, speed: float = 1.0, start_s: float = 0.0) -> Source:
    return ReplaySource(TRACE, ALL, clock, speed, start_s)


def drain(source: Source, clock: ManualClock, seconds: float) -> list[Batch]:
    until = clock.now() + seconds
    found: list[Batch] = []
    while clock.now() < until - 1e-9:
        found += source.read(min(0.1, until - clock.now())).batches
    while more := source.read(0.0).batches:
        found += more
    return found


def rows(batches: list[Batch], stream: int) -> F64:
    return np.concatenate([b.raw for b in batches if b.stream == stream])


def test_streams_are_those_of_the_trace() -> None:
    source = played(ManualClock())
    assert [[i.name for i in s.inputs] for s in source.streams] == [["P1", "P2"], ["T"]]
    assert [s.rate_hz for s in source.streams] == pytest.approx([200.0, 2.0])
    assert [s.device_wrap_s for s in source.streams] == [math.inf] * 2


@pytest.mark.parametrize("speed", [0.1, 1.0, 20.0])
def test_every_row_comes_at_its_instant_and_none_before(speed: float) -> None:
    clock = ManualClock(50.0)
    source = played(clock, speed)
    assert sum(len(b.raw) for b in drain(source, clock, 1.0 / speed)) < 210
    for batch in drain(source, clock, 2.0 / speed):
        assert np.all(batch.arrival_s <= clock.now() + 1e-9)
    source = played(clock, speed)
    began = clock.now()
    everything = drain(source, clock, 2.2 / speed)
    assert rows(everything, 0)[:, 0].tolist() == TRACE.series[0].values.tolist()
    assert rows(everything, 1)[:, 0].tolist() == TRACE.series[1].values.tolist()
    due = np.concatenate([b.arrival_s for b in everything if b.stream == 0])
    np.testing.assert_allclose(due, began + (FAST - 100.0) / speed)
    fast = [b for b in everything if b.stream == 0]
    device = np.concatenate([b.device_s for b in fast if b.device_s is not None])
    np.testing.assert_allclose(device, (FAST - 100.0) / speed)


def test_nothing_adds_up_when_it_is_read_seldom() -> None:
    clock = ManualClock()
    source = played(clock)
    clock.sleep(5.0)
    sizes = []
    while batch := source.read(0.0).batches:
        sizes.append(sum(len(b.raw) for b in batch if b.stream == 0))
    assert sum(sizes) == 400
    assert max(sizes) <= 101, "half a second at a time"


def test_it_may_begin_in_the_middle_and_says_when_it_is_over() -> None:
    clock = ManualClock()
    source = played(clock, start_s=1.5)
    assert rows(drain(source, clock, 0.55), 0)[0, 0] == 300e4
    clock.sleep(1.0)
    assert rows(list(source.read(0.0).batches), 1).tolist() == [[4e4]]
    assert [n.text for n in source.read(0.1).notices] == ["The trace has been played to its end."]
    assert source.read(0.1).notices == ()


def test_a_trace_from_disk_through_the_acquisition(tmp_path: Path) -> None:
    path = tmp_path / "trace.h5"
    write_trace(TRACE, path)
    kit = replay_kit(path, TRACE, speed=20.0)
    assert kit.simulated
    first = kit.source[0].channel[0].to_channel()
    assert (first.role, first.transducer.serial) == (Role.main(1), "T-1")
    assert (first.chain.range_high, first.transducer.proof_pa) == (6e7, 9e7)
    assert kit.source[0].channel[2].to_channel().reference is Reference.ABSOLUTE
    events: list[Event] = []
    acquisition = Acquisition(kit, SystemClock(), events.append)
    acquisition.start()
    until = time.monotonic() + 30
    while acquisition.health()[0].rows < 405:
        assert time.monotonic() < until
        time.sleep(0.01)
    acquisition.stop()
    names = [s.name for s in acquisition.streams]
    assert names == ["replay/fast", "replay/slow"]
    blocks = [e for e in events if isinstance(e, Block) and e.stream == 0]
    found = np.concatenate([b.raw for b in blocks])
    np.testing.assert_array_equal(found[:, 0], TRACE.series[0].values)
    times = np.concatenate([b.times for b in blocks])
    np.testing.assert_allclose(np.diff(times), 0.005 / 20, rtol=3e-3)
    assert not [e for e in events if isinstance(e, GapSeen)]


def test_what_cannot_be_played_is_told(tmp_path: Path) -> None:
    with pytest.raises(SourceError, match="cannot be played"):
        DRIVER.open(ReplayOptions(trace=tmp_path / "none.h5"), ALL, ManualClock())
    with pytest.raises(SourceError, match="no channel “X”; it has P1, P2, T"):
        ReplaySource(TRACE, (Input("X", "Pa"),), ManualClock(), 1.0, 0.0)


def test_the_example_kit_plays_its_sample(monkeypatch: pytest.MonkeyPatch) -> None:
    root = Path(__file__).parents[2]
    monkeypatch.chdir(root)
    kit = read_kit(root / "drivers" / "examples" / "replay.toml")
    blocks: list[Event] = []
    acquisition = Acquisition(kit, SystemClock(), blocks.append)
    acquisition.start()
    until = time.monotonic() + 30
    while acquisition.health()[0].rows < 100:
        assert time.monotonic() < until
        time.sleep(0.01)
    acquisition.stop()
    (spec,) = acquisition.streams
    assert [c.role for c in spec.channels] == [Role.main(1), Role.main(2), Role("engine.speed")]
    assert spec.rate_hz == pytest.approx(400.0, rel=1e-3)
