"""A recording from the first sample to the sealed file, and back."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import h5py
import numpy as np
import pytest

from gaugebench.model.block import Block
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.model.conditioning import Chain, Wiring
from gaugebench.model.event import MarkSet, Rejected, Setup
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.role import Role
from gaugebench.model.trace import Particulars
from gaugebench.quantity import Dimension, Reference
from gaugebench.store import layout
from gaugebench.store.export import write_csv
from gaugebench.store.opening import open_trace
from gaugebench.store.recorder import Recorder
from gaugebench.store.recordstate import Phase
from gaugebench.store.tracefile import TraceFile, write_trace
from gaugebench.store.verify import verify


def _setup() -> Setup:
    chain = Chain(Wiring.RATIOMETRIC, range_low=0.0, range_high=6e7)
    channels = tuple(
        Channel(f"P{n}", Role.main(n), reference=Reference.GAUGE, raw_unit="V", chain=chain)
        for n in (1, 2)
    )
    return Setup(
        (StreamSpec("kit", channels, 1000.0),),
        datetime(2026, 3, 4, 10, 0, tzinfo=UTC),
        particulars=Particulars(machine="Harrow 210", serial="HX-7"),
    )


def test_every_sample_comes_back_raw_and_as_pressure(tmp_path: Path) -> None:
    random = np.random.default_rng(7)
    raw = random.uniform(0.5, 4.5, (5000, 2))
    times = np.arange(5000, dtype=np.float64) * 1e-3
    recorder = Recorder(tmp_path / "visit.h5", _setup())
    for at in range(0, 5000, 50):
        part = slice(at, at + 50)
        recorder.put(Block(0, at, times[part], raw[part], np.zeros((50, 2), np.uint16)))
    recorder.put(Rejected("kit", "garbled", 2, 0.5, (b"\x00\xff",)))
    recorder.put(MarkSet(Mark("note/1", MarkKind.NOTE, 1.5, Standing.BY_HAND, note="boom up")))
    path = recorder.stop()

    assert recorder.state.phase is Phase.DONE
    assert list(tmp_path.iterdir()) == [path]
    trace = open_trace(path)
    first = trace.find(Role.main(1))
    assert first is not None
    assert first.raw is not None
    np.testing.assert_array_equal(first.times, times)
    np.testing.assert_array_equal(first.raw, raw[:, 0])
    # 0.5 V is 0 Pa and 4.5 V is 60 MPa, straight between (the transducer's range over its wiring)
    np.testing.assert_allclose(first.values, (raw[:, 0] - 0.5) / 4.0 * 6e7, rtol=1e-12, atol=1e-6)
    assert trace.rejects == {"garbled": 2}
    assert trace.marks[0].note == "boom up"
    assert trace.particulars.serial == "HX-7"
    assert trace.gaps == ()
    assert trace.remarks == ()


def test_a_taken_name_gets_a_number(tmp_path: Path) -> None:
    (tmp_path / "visit.h5").write_bytes(b"something of the user's")
    recorder = Recorder(tmp_path / "visit.h5", _setup())
    assert recorder.stop().name == "visit (2).h5"
    assert (tmp_path / "visit.h5").read_bytes() == b"something of the user's"


def _fed_setup() -> Setup:
    """A ratiometric transducer and a bridge, both fed by what a third channel measures."""
    span: dict[str, Any] = {"range_low": 0.0, "range_high": 6e7, "supply": "V5"}
    ratio = Chain(Wiring.RATIOMETRIC, **span)
    bridge = Chain(Wiring.BRIDGE, **span, excitation=5.0, sensitivity=2.0)
    pressures = tuple(
        Channel(f"P{n}", Role.main(n), reference=Reference.GAUGE, raw_unit=unit, chain=chain)
        for n, unit, chain in ((1, "V", ratio), (2, "mV", bridge))
    )
    supply = Channel("V5", dimension=Dimension.VOLTAGE, raw_unit="V")
    return Setup(
        (StreamSpec("kit", (*pressures, supply), 1000.0),), datetime(2026, 3, 4, 10, 0, tzinfo=UTC)
    )


def _record_fed(target: Path) -> tuple[Path, np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """The sealed file, the shares of the range that were put in, and the supply; one row unfed."""
    random = np.random.default_rng(13)
    shares, supply = random.uniform(0.05, 0.95, 3000), random.uniform(4.6, 5.4, 3000)
    supply[1700] = 3.9
    raw = np.column_stack(((0.1 + 0.8 * shares) * supply, 2.0 * shares * supply, supply))
    times = np.arange(3000, dtype=np.float64) * 1e-3
    recorder = Recorder(target, _fed_setup())
    for at in range(0, 3000, 50):
        part = slice(at, at + 50)
        recorder.put(Block(0, at, times[part], raw[part], np.zeros((50, 3), np.uint16)))
    return recorder.stop(), shares, supply


def test_a_measured_supply_is_part_of_the_record(tmp_path: Path) -> None:
    path, shares, _ = _record_fed(tmp_path / "fed.h5")
    assert verify(path) == []
    trace = open_trace(path)
    for n in (1, 2):
        series = trace.find(Role.main(n))
        assert series is not None
        expected = shares * 6e7
        expected[1700] = np.nan
        np.testing.assert_allclose(series.values, expected, rtol=1e-9)
        assert np.flatnonzero(series.quality).tolist() == [1700]
        assert series.channel == _fed_setup().streams[0].channels[n - 1]

    copied = write_trace(trace, tmp_path / "copied.h5")
    assert verify(copied) == []
    written = write_csv(trace, tmp_path / "fed.csv")
    again = open_trace(written)
    first, second = trace.find(Role.main(1)), again.find(Role.main(1))
    assert first is not None
    assert second is not None
    np.testing.assert_allclose(second.values, first.values, rtol=1e-3, atol=1e4)


@pytest.mark.parametrize("change", ["supply", "name"])
def test_values_that_do_not_follow_from_their_supply_are_found(tmp_path: Path, change: str) -> None:
    path, _, _ = _record_fed(tmp_path / "fed.h5")
    (place,) = [p for p in TraceFile(path).places if p.channel.name == "V5"]
    with h5py.File(path, "r+") as file:
        entry = file["entry"]
        if change == "supply":
            entry[f"{place.group}/{place.dataset}"][40] = 4.7
        else:
            table = entry["channels"][:]
            table["supply"] = b"V6"
            entry["channels"][:] = table
    told = verify(path)
    assert any("do not follow from the raw values" in sentence for sentence in told)


def test_a_file_written_before_supplies_were_known_is_whole(tmp_path: Path) -> None:
    recorder = Recorder(tmp_path / "old.h5", _setup())
    recorder.put(Block(0, 0, np.zeros(1), np.full((1, 2), 2.5), np.zeros((1, 2), np.uint16)))
    path = recorder.stop()
    added = ["supply", "excitation", "sensitivity"]
    with h5py.File(path, "r+", libver=layout.LIBRARY_RANGE) as file:
        entry = file["entry"]
        table = entry["channels"][:]
        kept = [name for name in table.dtype.names if name not in added]
        del entry["channels"]
        entry.create_dataset(
            "channels",
            data=table[kept],
            dtype=np.dtype([(n, table.dtype[n]) for n in kept]),
            fletcher32=True,
        )
    assert verify(path) == []
    first = open_trace(path).series[0]
    assert first.channel == _setup().streams[0].channels[0]
    assert first.values[0] == 3e7
