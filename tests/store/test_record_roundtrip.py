"""A recording from the first sample to the sealed file, and back."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from gaugebench.model.block import Block
from gaugebench.model.channel import Channel, StreamSpec
from gaugebench.model.conditioning import Chain, Wiring
from gaugebench.model.event import MarkSet, Rejected, Setup
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.role import Role
from gaugebench.model.trace import Particulars
from gaugebench.quantity import Reference
from gaugebench.store.opening import open_trace
from gaugebench.store.recorder import Recorder
from gaugebench.store.recordstate import Phase


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
