"""How series share a stream, what a viewer shows first, how figures become rows of a table."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import h5py
import numpy as np
import pytest

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
from gaugebench.model.trace import Series, Trace
from gaugebench.quantity import Dimension
from gaugebench.store.figurerows import figure_rows
from gaugebench.store.tracefile import by_stream, write_trace

TIMES = np.arange(3.0)


def _series(name: str, stream: str, times: object = TIMES, *, raw: bool = False) -> Series:
    at = np.array(times, np.float64)
    values, quality = np.zeros(len(at)), np.zeros(len(at), np.uint16)
    channel = Channel(name, None, Dimension.SPEED, raw_unit="rpm")
    return Series(channel, at, values, quality, stream, values if raw else None)


@pytest.mark.parametrize(
    "other",
    [
        _series("b", "engine"),
        _series("b", "kit", TIMES + 1e-9),
        _series("b", "kit", TIMES[:2]),
        _series("b", "kit", raw=True),
    ],
    ids=["stream", "times", "length", "raw values"],
)
def test_series_that_differ_in_one_thing_are_apart(other: Series) -> None:
    one, three = _series("a", "kit"), _series("c", "kit")
    groups = [[s.channel.name for s in many] for many in by_stream([one, other, three])]
    assert groups == [["a", "c"], ["b"]]


@pytest.mark.parametrize("mains", [True, False])
def test_a_viewer_finds_the_main_pressures_first_else_what_comes_first(
    small_trace: Trace, tmp_path: Path, mains: bool
) -> None:
    """By NeXus' way to what is to be plotted: `default` from the root on, then `signal`."""
    pressures = [s for s in small_trace.series if s.channel.role and s.channel.role.pump]
    assert len(pressures) == 2
    speed = _series("rpm", "engine")
    other = pressures if mains else [_series("fan", "kit")]
    path = write_trace(replace(small_trace, series=(speed, *other)), tmp_path / "t.h5")
    with h5py.File(path) as file:
        entry = file[file.attrs["default"]]
        data = entry[entry.attrs["default"]]
        assert data.attrs["NX_class"] == b"NXdata"
        assert data.attrs["signal"] == (b"pump1.main" if mains else b"rpm")


def test_the_rows_of_figures_are_those_of_the_formats_page() -> None:
    held = Figure(3.2e7, "Pa", 9e4, {"noise": 4e4}, Window(1.0, 2.0, 50), ("few", "coarse"))
    none = Absent("the pump de-stroked")
    pump = PumpFigures(
        initial=held, settled=held, peak=held, raw_peak=held, t50=Figure(1.5, "s"), settle=none,
        overshoot=none, ripple_pp=none, ripple_rms=none,
        relief_crack=Event(Figure(1.6, "s"), held), override=none, destroke_onset=none,
        control_settled=none, limited_by=LimitedBy(Limiter.RELIEF, "oil goes over it"),
    )  # fmt: skip
    loading = LoadingFigures(1.0, 5.0, {2: pump, 1: pump}, held, none, none, none, none)
    rows = figure_rows(FigureSet((loading, loading), {}))
    assert [(r["loading"], r["pump"]) for r in rows] == [
        (number, pump) for number in (1, 2) for pump in (0,) * 7 + (1,) * 16 + (2,) * 16
    ]
    assert [r["figure"] for r in rows[:23]] == [
        "start", "end", "imbalance", "running_imbalance", "sync_lag", "in_sync", "cycle_time",
        "initial", "settled", "peak", "raw_peak", "t50", "settle", "overshoot", "ripple_pp",
        "ripple_rms", "relief_crack_time", "relief_crack_pressure", "override", "destroke_onset",
        "control_settled", "limited_by", "plateaus",
    ]  # fmt: skip
    by_name = {row["figure"]: row for row in rows[:23]}
    where = {"loading": 1, "pump": 1}
    assert (by_name["start"]["value"], by_name["end"]["value"]) == (1.0, 5.0)
    assert by_name["settled"] == {
        **where, "figure": "settled", "value": 3.2e7, "unit": "Pa", "expanded": 9e4,
        "cautions": "few coarse", "from_s": 1.0, "to_s": 2.0, "samples": 50,
    }  # fmt: skip
    assert by_name["settle"] == {**where, "figure": "settle", "why_absent": "the pump de-stroked"}
    assert by_name["limited_by"] == {
        **where, "figure": "limited_by", "unit": "relief", "cautions": "oil goes over it",
    }  # fmt: skip
    assert "from_s" not in by_name["t50"]
