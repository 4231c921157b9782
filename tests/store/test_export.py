"""Exports: locale-free, whole, and read back by general-purpose libraries."""

from __future__ import annotations

import csv
import locale
from dataclasses import replace
from pathlib import Path

import numpy as np
import openpyxl
import pandas as pd
import pyarrow.parquet as pq
import pytest

from gaugebench.errors import RecordError, TraceError
from gaugebench.model.figures import Absent, Figure, FigureSet, LoadingFigures
from gaugebench.model.trace import Trace
from gaugebench.store.export import write_csv
from gaugebench.store.figuretable import write_figures
from gaugebench.store.opening import open_trace
from gaugebench.store.parquet import write_parquet


def test_csv_reads_back_to_the_same_samples(small_trace: Trace, tmp_path: Path) -> None:
    path = write_csv(small_trace, tmp_path / "t.csv")
    again = {str(s.channel.role): s for s in open_trace(path).series}
    for one in small_trace.series:
        two = again[str(one.channel.role)]
        assert one.times.tobytes() == two.times.tobytes()
        np.testing.assert_array_equal(one.values, two.values)
        assert two.channel.reference == one.channel.reference


def test_csv_is_plain_for_pandas(small_trace: Trace, tmp_path: Path) -> None:
    path = write_csv(small_trace, tmp_path / "t.csv")
    frame = pd.read_csv(path)
    assert list(frame.columns) == [
        "time [s]", "pump1.main [Pa(g)]", "pump2.main [Pa(g)]", "engine.speed [rpm]"
    ]  # fmt: skip
    speed = frame[["time [s]", "engine.speed [rpm]"]].dropna()
    np.testing.assert_allclose(speed["time [s]"], small_trace.series[2].times, rtol=1e-15)


def test_csv_is_the_same_under_a_comma_locale(
    small_trace: Trace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain = write_csv(small_trace, tmp_path / "a.csv").read_bytes()
    monkeypatch.setattr(locale, "localeconv", lambda: {"decimal_point": ",", "thousands_sep": "."})
    assert write_csv(small_trace, tmp_path / "b.csv").read_bytes() == plain
    assert b";" not in plain


def test_parquet_keeps_rates_apart_and_units_with_the_columns(
    small_trace: Trace, tmp_path: Path
) -> None:
    table = pq.read_table(write_parquet(small_trace, tmp_path / "t.parquet"))
    assert table.column_names == ["time", "pump1.main", "pump2.main", "engine.speed"]
    field = table.schema.field("pump1.main")
    assert field.metadata[b"units"] == b"Pa"
    assert field.metadata[b"reference"] == b"gauge"
    main = table.column("pump1.main")
    assert main.null_count == 20
    np.testing.assert_array_equal(main.drop_null().to_numpy(), small_trace.series[0].values)
    times = table.column("time").filter(table.column("engine.speed").is_valid())
    np.testing.assert_array_equal(times.to_numpy(), small_trace.series[2].times)
    assert table.schema.metadata[b"start_time"] == b"2026-03-04T10:00:00+00:00"


@pytest.fixture
def figures() -> FigureSet:
    none = Absent("one pump only; =1+1")
    found = LoadingFigures(1.0, 5.0, {}, Figure(-0.84, "%", 0.2), none, none, none, none)
    return FigureSet((found,), {"settle_pct": 2.0, "name": "=HYPERLINK(1)"})


def test_figures_as_csv(figures: FigureSet, tmp_path: Path) -> None:
    path = write_figures(figures, tmp_path / "f.csv")
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    named = dict(zip(rows[0], next(r for r in rows if r[2:3] == ["imbalance"]), strict=True))
    assert (named["value"], named["unit"], named["expanded"]) == ("-0.84", "%", "0.2")
    assert ["setting", "settle_pct", "2.0"] in rows


def test_figures_as_a_workbook(figures: FigureSet, tmp_path: Path) -> None:
    """Read back by another library than the one that writes it."""
    path = write_figures(figures, tmp_path / "f.xlsx")
    book = openpyxl.load_workbook(path)
    rows = list(book["Figures"].iter_rows(values_only=True))
    named = dict(zip(rows[0], next(r for r in rows if r[2] == "imbalance"), strict=True))
    assert (named["value"], named["unit"], named["expanded"]) == (-0.84, "%", 0.2)
    lag = dict(zip(rows[0], next(r for r in rows if r[2] == "sync_lag"), strict=True))
    assert (lag["value"], lag["why_absent"]) == (None, "one pump only; =1+1")
    settings = {str(row[0]): row[1] for row in book["Settings"].iter_rows(values_only=True)}
    assert settings == {"reference": "gauge", "settle_pct": 2, "name": "=HYPERLINK(1)"}
    assert book["Settings"]["B2"].data_type != "f"


def test_what_cannot_be_written_is_told(
    small_trace: Trace, figures: FigureSet, tmp_path: Path
) -> None:
    for write in (write_csv, write_parquet):
        with pytest.raises(RecordError, match="cannot be written"):
            write(small_trace, tmp_path / "no folder" / "t")
        with pytest.raises(TraceError, match="nothing to write"):
            write(replace(small_trace, series=()), tmp_path / "t")
    with pytest.raises(RecordError, match="cannot be written"):
        write_figures(figures, tmp_path / "no folder" / "f.xlsx")
    with pytest.raises(TraceError, match=r"should end in \.csv or \.xlsx"):
        write_figures(figures, tmp_path / "f.doc")
    assert list(tmp_path.iterdir()) == []
