"""Each fault that verifying looks for, alone in a file: told in its sentence, and no other."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import h5py
import numpy as np
import pytest

from gaugebench.model.trace import Trace
from gaugebench.store import layout
from gaugebench.store import verify as module
from gaugebench.store.tracefile import write_trace
from gaugebench.store.verify import verify

KIT = "entry/kit_pressure_gauge"
TIMES = "entry/streams/kit/time"
Change = Callable[[h5py.File], object]


def _set(name: str, row: int, value: float) -> Change:
    def change(file: h5py.File) -> None:
        assert file[name][row] != value
        file[name][row] = value

    return change


def _attribute(name: str, key: str, value: str) -> Change:
    return lambda file: file[name].attrs.create(key, np.bytes_(value.encode()))


def _cell(table: str, row: int, column: str, value: object) -> Change:
    def change(file: h5py.File) -> None:
        rows = file[table][:]
        rows[column][row] = value
        file[table][...] = rows

    return change


def _without_column(file: h5py.File) -> None:
    rows = file["entry/gaps"][:]
    del file["entry/gaps"]
    kept = np.zeros(len(rows), [(n, rows.dtype[n]) for n in rows.dtype.names if n != "why"])
    file.create_dataset("entry/gaps", data=kept, fletcher32=True)


def _times_of_its_own(file: h5py.File) -> None:
    del file[f"{KIT}/time"]
    file.create_dataset(f"{KIT}/time", data=file[TIMES][:], **layout.STORED)


def _overview(file: h5py.File) -> None:
    name = "entry/streams/kit/overview/256/pump1.main"
    file[name][6, 1] += 1.0


def _stream_of_nothing(file: h5py.File) -> None:
    rows = file["entry/streams_table"][:]
    rows = np.concatenate([rows, rows[:1]])
    rows["name"][-1], rows["samples"][-1] = b"x", 3
    del file["entry/streams_table"]
    file.create_dataset("entry/streams_table", data=rows, fletcher32=True)
    times = file.create_dataset("entry/streams/x/time", data=np.arange(300.0), **layout.STORED)
    times.attrs.create("units", np.bytes_(b"s"))


FAULTS: dict[str, tuple[Change, list[str]]] = {
    "root": (
        _attribute("/", "NX_class", "NXentry"),
        ["Attribute “NX_class” of the root should be “NXroot”."],
    ),
    "default": (
        _attribute("/", "default", "elsewhere"),
        ["Attribute “default” of the root should be “entry”."],
    ),
    "entry": (
        _attribute("entry", "NX_class", "NXdata"),
        ["Attribute “NX_class” of the entry should be “NXentry”."],
    ),
    "column": (_without_column, ["The table “gaps” has no column “why”."]),
    "unit of the times": (
        _attribute(TIMES, "units", "ms"), ["The times of stream “kit” should be in s."],
    ),
    "count": (
        _cell("entry/streams_table", 0, "samples", 1999),
        ["Stream “kit” should have 1999 samples and has 2000."],
    ),
    "class": (
        _attribute(KIT, "NX_class", "NXlog"),
        ["“kit_pressure_gauge” should be an NXdata with the axis “time”."],
    ),
    "axes": (
        _attribute(KIT, "axes", "row"),
        ["“kit_pressure_gauge” should be an NXdata with the axis “time”."],
    ),
    "signal": (
        _attribute(KIT, "signal", "pump2.main"),
        ["The signals of “kit_pressure_gauge” are not those of the table of channels."],
    ),
    "times of its own": (
        _times_of_its_own, ["“kit_pressure_gauge/time” should be the times of stream “kit”."],
    ),
    "unit of the values": (
        _attribute(f"{KIT}/pump2.main", "units", "bar"),
        ["“kit_pressure_gauge/pump2.main” should be in Pa."],
    ),
    "times in a piece": (
        _set(TIMES, 10, 0.0), ["The times of stream “kit” go back or are missing after row 0."],
    ),
    "times between pieces": (
        lambda file: file[TIMES].__setitem__(slice(1000, None), file[TIMES][500:1500]),
        ["The times of stream “kit” go back or are missing after row 1000."],
    ),
    "time missing": (
        _set(TIMES, 1999, np.nan),
        ["The times of stream “kit” go back or are missing after row 1000."],
    ),
    "quality": (
        _set("entry/streams/kit/quality/pump1.main", 7, 0),  # where a sample is missing
        [f"The values of “{KIT[6:]}/pump1.main” do not follow from the raw values after row 0."],
    ),
    "overview": (_overview, ["The overview of “pump1.main” by 256 is not that of its values."]),
    "stream of nothing": (
        _stream_of_nothing,
        ["Stream “x” should have 3 samples and has 300.", "Stream “x” has no channel."],
    ),
}  # fmt: skip


@pytest.fixture
def path(small_trace: Trace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A sound trace, looked at in pieces of 1000 rows."""
    monkeypatch.setattr(module, "_ROWS", 1000)
    return write_trace(small_trace, tmp_path / "t.h5")


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_told_and_nothing_else(path: Path, name: str) -> None:
    change, told = FAULTS[name]
    with h5py.File(path, "r+", libver=layout.LIBRARY_RANGE) as file:
        change(file)
    assert verify(path) == told


def test_a_value_that_does_not_follow_is_told_with_its_overview(path: Path) -> None:
    def told(value: Any) -> list[str]:
        with h5py.File(path, "r+", libver=layout.LIBRARY_RANGE) as file:
            file[f"{KIT}/pump2.main"][1000] = value
        return [said.partition("”")[2] for said in verify(path)]

    assert told(9e9) == [
        " do not follow from the raw values after row 1000.",
        " by 256 is not that of its values.",
    ]


def test_a_sound_file_has_no_fault_and_instants_may_repeat(path: Path) -> None:
    assert verify(path) == []
    with h5py.File(path, "r+", libver=layout.LIBRARY_RANGE) as file:
        file[TIMES][1000] = file[TIMES][999]
    assert verify(path) == []
