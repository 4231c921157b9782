"""The trace file: exact, lazy, changed only as a whole."""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import h5py
import numpy as np
import pandas as pd
import pytest

from gaugebench.errors import RecordError, TraceError
from gaugebench.model.channel import Channel
from gaugebench.model.figures import (
    Absent,
    Event,
    Figure,
    FigureSet,
    LimitedBy,
    Limiter,
    LoadingFigures,
    PumpFigures,
    Window,
)
from gaugebench.model.mark import Mark, MarkKind, Standing
from gaugebench.model.role import Role
from gaugebench.model.trace import Series, Trace
from gaugebench.quantity import Dimension, Reference
from gaugebench.store import layout, tracefile
from gaugebench.store.opening import open_trace
from gaugebench.store.tracefile import TraceFile, save_findings, write_trace
from gaugebench.store.verify import verify

_PARTS = ("started", "origin", "simulated", "particulars", "marks", "gaps", "rejects", "kit")


def _same(one: Trace, two: Trace) -> None:
    for name in _PARTS:
        assert getattr(one, name) == getattr(two, name), name
    for a, b in zip(one.series, two.series, strict=True):
        assert a.channel == b.channel
        assert a.stream == b.stream
        for name in ("times", "values", "quality", "raw"):
            assert getattr(a, name).tobytes() == getattr(b, name).tobytes(), name


def _figures() -> FigureSet:
    settled = Figure(3.2e7, "Pa", 9e4, {"noise": 4e4}, Window(1.0, 2.0, 50), ("few samples",))
    none = Absent("the pump de-stroked")
    pump = PumpFigures(
        initial=settled, settled=settled, peak=settled, raw_peak=settled, t50=Figure(1.5, "s"),
        settle=none, overshoot=none, ripple_pp=none, ripple_rms=none,
        relief_crack=Event(Figure(1.6, "s"), settled), override=none, destroke_onset=none,
        control_settled=none, limited_by=LimitedBy(Limiter.RELIEF, "oil goes over it"),
    )  # fmt: skip
    found = LoadingFigures(1.0, 5.0, {1: pump, 2: pump}, settled, none, none, none, none)
    mark = Mark("0/pump1/peak", MarkKind.PEAK, 1.7, Standing.FINAL, 1, 3.4e7)
    return FigureSet((found,), {"settle_pct": 2.0}, (mark,))


def test_a_trace_comes_back_bit_for_bit(small_trace: Trace, tmp_path: Path) -> None:
    path = write_trace(small_trace, tmp_path / "trace.h5")
    _same(open_trace(path), small_trace)
    assert verify(path) == []


def test_a_taken_name_gets_a_number_and_nothing_else_is_left(
    small_trace: Trace, tmp_path: Path
) -> None:
    names = [write_trace(small_trace, tmp_path / "t.h5").name for _ in range(3)]
    assert names == ["t.h5", "t (2).h5", "t (3).h5"]
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(names)


def test_a_window_holds_the_samples_within(small_trace: Trace, tmp_path: Path) -> None:
    file = TraceFile(write_trace(small_trace, tmp_path / "t.h5"))
    part = file.window(0.5, 1.0)
    assert [len(s) for s in part.series] == [500, 500, 5]
    for got, whole in zip(part.series, small_trace.series, strict=True):
        np.testing.assert_array_equal(got.values, whole.between(0.5, 1.0).values)
    assert file.window(9.0, 10.0).series[0].times.size == 0
    assert file.span_s() == small_trace.span_s
    name = small_trace.series[1].channel.name
    (alone,) = file.window(0.5, 1.0, only={name}, with_raw=False).series
    np.testing.assert_array_equal(alone.values, part.series[1].values)
    assert alone.raw is None


@pytest.mark.parametrize("rows", [511, 512, 40_000, 300_000])
def test_the_overview_keeps_every_spike(tmp_path: Path, rows: int) -> None:
    random = np.random.default_rng(rows)
    times = np.arange(rows, dtype=np.float64) * 1e-3
    values = random.normal(2e7, 1e5, rows)
    spikes = random.integers(0, rows, 20)
    values[spikes] = 6e7
    values[5:300] = np.nan
    channel = Channel("P", Role.main(1), reference=Reference.GAUGE, raw_unit="Pa")
    trace = Trace((Series(channel, times, values, np.zeros(rows, np.uint16)),))
    path = write_trace(trace, tmp_path / "t.h5")
    assert verify(path) == []
    file = TraceFile(path)
    for buckets in (1, 10, 100, 1000):
        seen = file.overview(Role.main(1), 0.0, times[-1] + 1, buckets)
        assert len(seen.low) >= min(buckets, rows)
        step = seen.samples_per_bucket
        assert np.nanmax(seen.high) == np.nanmax(values)
        assert np.nanmin(seen.low) == np.nanmin(values)
        for spike in spikes:
            assert seen.high[spike // step] == values[spike] or np.isnan(values[spike])
        np.testing.assert_array_equal(seen.start_s, times[::step])
        last_rows = np.minimum(np.arange(step, rows + step, step), rows) - 1
        np.testing.assert_array_equal(seen.end_s, times[last_rows])


def test_figures_and_marks_are_saved_without_touching_the_samples(
    small_trace: Trace, tmp_path: Path
) -> None:
    path = write_trace(small_trace, tmp_path / "t.h5")
    found = _figures()
    for _ in range(2):
        save_findings(path, found)
    file = TraceFile(path)
    assert file.annexe.figures == found
    assert file.head.marks == (*small_trace.marks, *found.marks)
    _same(replace(file.trace(), marks=small_trace.marks), small_trace)
    assert verify(path) == []
    assert [p.name for p in tmp_path.iterdir()] == ["t.h5"]
    with h5py.File(path) as h5:
        table = pd.DataFrame(h5["entry/figures"][:])
    row = table[(table["figure"] == b"settled") & (table["pump"] == 2)].iloc[0]
    assert (row["value"], row["unit"], row["expanded"], row["samples"]) == (3.2e7, b"Pa", 9e4, 50)
    row = table[(table["figure"] == b"settle") & (table["pump"] == 1)].iloc[0]
    assert np.isnan(row["value"])
    assert row["why_absent"] == b"the pump de-stroked"


def test_marks_edited_by_hand_replace_those_in_the_file(small_trace: Trace, tmp_path: Path) -> None:
    path = write_trace(small_trace, tmp_path / "t.h5")
    mine = (Mark("note/2", MarkKind.NOTE, 0.1, Standing.BY_HAND, note="moved"),)
    save_findings(path, _figures(), mine)
    assert TraceFile(path).head.marks == mine


def test_a_save_that_fails_leaves_the_file_as_it_was(
    small_trace: Trace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_trace(small_trace, tmp_path / "t.h5")
    before = path.read_bytes()

    def refuse(self: Path, target: Path) -> Path:
        raise OSError(28, os.strerror(28))

    monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises(RecordError, match="the trace is as it was"):
        save_findings(path, _figures())
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["t.h5"]


def _with_format(path: Path, number: int) -> None:
    with h5py.File(path, "r+", libver=layout.LIBRARY_RANGE) as file:
        file.attrs["gaugebench_format"] = number
        file["entry"].create_dataset("of_the_future", data=np.arange(3))


def test_a_newer_format_opens_with_a_note_and_is_not_changed(
    small_trace: Trace, tmp_path: Path
) -> None:
    path = write_trace(small_trace, tmp_path / "t.h5")
    assert not any("newer" in r for r in open_trace(path).remarks)
    _with_format(path, layout.FORMAT + 1)
    before = path.read_bytes()
    trace = open_trace(path)
    _same(trace, small_trace)
    (said,) = [r for r in trace.remarks if r not in small_trace.remarks]
    assert said.startswith("The file was made by a newer version")
    with pytest.raises(TraceError, match="can read it but not change it"):
        save_findings(path, _figures())
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["t.h5"]
    (told,) = verify(path)
    assert f"format {layout.FORMAT + 1}, newer than the {layout.FORMAT}" in told


def _added_to(file: h5py.File, table: str, row: dict[str, object] | None = None) -> None:
    """A table with a column that is not known here, and one more row of kinds that are not."""
    old = file[table][:]
    count = len(old) + (row is not None)
    new = np.zeros(count, [*((n, old.dtype[n]) for n in old.dtype.names), ("of_the_future", "f8")])
    for name in old.dtype.names:
        new[name][: len(old)] = old[name]
    for name, value in (row or {}).items():
        new[name][-1] = value
    del file[table]
    file.create_dataset(table, data=new, fletcher32=True)


def test_what_a_newer_format_adds_is_passed_over(small_trace: Trace, tmp_path: Path) -> None:
    path = write_trace(small_trace, tmp_path / "t.h5")
    with h5py.File(path, "r+", libver=layout.LIBRARY_RANGE) as file:
        for name in ("entry/channels", "entry/streams_table", "entry/particulars", "entry/gaps"):
            _added_to(file, name)
        _added_to(file, "entry/marks", {"key": b"x", "kind": b"odd", "standing": b"by hand"})
    with pytest.raises(TraceError, match="odd"):
        open_trace(path)  # in a file of this version a kind that is not known is damage
    _with_format(path, layout.FORMAT + 7)
    _same(open_trace(path), small_trace)


def test_figures_are_saved_in_a_file_of_an_older_format_without_touching_its_samples(
    small_trace: Trace, tmp_path: Path
) -> None:
    path = write_trace(small_trace, tmp_path / "t.h5")
    with h5py.File(path, "r+", libver=layout.LIBRARY_RANGE) as file:
        file.attrs["gaugebench_format"] = layout.FORMAT - 1
        del file["entry/clock_fits"], file["entry/recipe"]
    before, node = path.read_bytes(), path.stat().st_ino
    _same(open_trace(path), small_trace)
    assert path.read_bytes() == before
    save_findings(path, _figures())
    assert path.stat().st_ino != node  # another file took its place; it was not written into
    saved = TraceFile(path)
    assert saved.format == layout.FORMAT - 1
    assert saved.annexe.figures == _figures()
    for got, true in zip(saved.trace().series, small_trace.series, strict=True):
        assert got.values.tobytes() == true.values.tobytes()


def test_the_figures_of_a_long_day_are_saved_and_read_again(
    small_trace: Trace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_trace(small_trace, tmp_path / "t.h5")
    one = _figures()
    many = replace(one, loadings=one.loadings * 500)
    save_findings(path, many)
    assert TraceFile(path).annexe.figures == many
    before = path.read_bytes()
    monkeypatch.setattr(layout, "LONGEST_FIGURES", 100_000)
    with pytest.raises(RecordError, match="The figures of 500 loadings are more than"):
        save_findings(path, many)
    assert path.read_bytes() == before


def test_an_older_file_without_a_later_table_is_read_as_it_is(
    small_trace: Trace, tmp_path: Path
) -> None:
    path = write_trace(small_trace, tmp_path / "t.h5")
    with h5py.File(path, "r+", libver=layout.LIBRARY_RANGE) as file:
        del file["entry/clock_fits"], file["entry/recipe"]
    before = path.read_bytes()
    _same(open_trace(path), small_trace)
    assert path.read_bytes() == before


def test_more_than_memory_holds_is_read_by_the_part(
    small_trace: Trace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = TraceFile(write_trace(small_trace, tmp_path / "t.h5"))
    monkeypatch.setattr(tracefile, "LARGEST_LOAD_BYTES", 100_000)
    with pytest.raises(TraceError, match="4020 samples, more than are loaded at once"):
        file.trace()
    assert len(file.window(0.0, 1.0).series[0]) == 1000


def test_a_trace_file_is_known_by_its_content(small_trace: Trace, tmp_path: Path) -> None:
    path = write_trace(small_trace, tmp_path / "t.h5").rename(tmp_path / "t.dat")
    path.chmod(0o444)
    _same(open_trace(path), small_trace)


def test_odd_names_and_units_survive(tmp_path: Path) -> None:
    times = np.arange(3, dtype=np.float64)
    flags = np.zeros(3, np.uint16)
    made = [
        Channel("a/b c", None, Dimension.OTHER, raw_unit="in/s"),
        Channel("a_b_c", None, Dimension.OTHER, raw_unit="in/s"),
        Channel("Öl, „heiß“", None, Dimension.TEMPERATURE, raw_unit="°C"),
        Channel("time", None, Dimension.TIME, raw_unit="s"),
        Channel(".", None, Dimension.RATIO, raw_unit="1"),
    ]
    series = tuple(Series(c, times, times + n, flags, "odd/stream") for n, c in enumerate(made))
    local = datetime.fromisoformat("2026-03-04T10:00:00+05:30")
    path = write_trace(Trace(series, started=local), tmp_path / "t.h5")
    back = open_trace(path)
    assert [s.channel for s in back.series] == made
    assert {s.stream for s in back.series} == {"odd/stream"}
    assert [s.values[0] for s in back.series] == [0, 1, 2, 3, 4]
    assert back.started == local
    assert back.started.utcoffset() == local.utcoffset()
    assert verify(path) == []


def test_roles_can_be_given_to_a_trace_file(small_trace: Trace, tmp_path: Path) -> None:
    path = write_trace(small_trace, tmp_path / "t.h5")
    found = open_trace(path, roles={"P1": "pump2.main", "P2": Role.main(1)})
    assert [str(s.channel.role) for s in found.series[:2]] == ["pump2.main", "pump1.main"]
    with pytest.raises(TraceError, match="no channel “P9”; it has P1, P2, rpm"):
        open_trace(path, roles={"P9": "pump1.main"})


def test_a_calibration_curve_comes_back(small_trace: Trace, tmp_path: Path) -> None:
    first = small_trace.series[0]
    chain = replace(first.channel.chain, curve=(2.0e4, 1.0013, -2.1e-11))
    channel = replace(first.channel, chain=chain)
    trace = replace(small_trace, series=(replace(first, channel=channel),))
    found = TraceFile(write_trace(trace, tmp_path / "curve.h5")).trace()
    assert found.series[0].channel.chain == chain


def test_a_trace_without_samples_is_a_trace(small_trace: Trace, tmp_path: Path) -> None:
    none = tuple(s.between(99, 99) for s in small_trace.series)
    path = write_trace(replace(small_trace, series=none), tmp_path / "t.h5")
    assert [len(s) for s in open_trace(path).series] == [0, 0, 0]
    assert verify(path) == []


def test_verify_finds_what_does_not_follow(small_trace: Trace, tmp_path: Path) -> None:
    path = write_trace(small_trace, tmp_path / "t.h5")
    with h5py.File(path, "r+", libver=layout.LIBRARY_RANGE) as file:
        file["entry/kit_pressure_gauge/pump1.main"][100] = 9e9
        file["entry/streams/kit/time"][50] = 9.0
        file["entry/engine_speed"].attrs["signal"] = "nothing"
        file["entry/kit_pressure_gauge/pump2.main"].attrs["units"] = "bar"
        del file["entry/gaps"]
    found = "\n".join(verify(path))
    for part in (
        "pump1.main” do not follow",
        "The times of stream “kit” go back",
        "The signals of “engine_speed” are not",
        "pump2.main” should be in Pa",
        "The table “gaps” is missing",
        "The overview of “pump1.main” by 256 is not",
    ):
        assert part in found


def test_samples_that_never_change_are_within_the_ratio_that_is_believed(
    small_trace: Trace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing honest packs better: every value and raw value 0, the times even."""
    monkeypatch.setattr(layout, "SMALL_BYTES", 0)
    times = np.arange(100_000, dtype=np.float64)
    none, flags = np.zeros(100_000), np.zeros(100_000, np.uint16)
    channels = [Channel(f"n{n}", None, Dimension.SPEED, raw_unit="rpm") for n in range(8)]
    series = tuple(Series(c, times, none, flags, "kit", none) for c in channels)
    path = write_trace(Trace(series), tmp_path / "t.h5")
    assert TraceFile(path).trace().series[7].values.tobytes() == none.tobytes()
    monkeypatch.setattr(layout, "LARGEST_RATIO", 10)
    with pytest.raises(TraceError, match="declares more than the file holds"):
        TraceFile(path)
