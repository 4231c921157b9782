"""The format page says what the program writes."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import h5py
import numpy as np
import pytest

import gaugebench.store
from gaugebench.model.figures import FigureSet
from gaugebench.model.quality import Quality
from gaugebench.model.trace import Trace
from gaugebench.store import layout, tables
from gaugebench.store.h5text import plain
from gaugebench.store.tracefile import save_findings, write_trace

PAGE = (Path(gaugebench.store.__file__).parent / "FORMAT.md").read_text(encoding="utf-8")


def test_its_lines_read_a_trace(
    small_trace: Trace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_trace(small_trace, tmp_path / "trace.h5")
    found = re.search(r"```python\n(.*?)```", PAGE, re.DOTALL)
    assert found is not None
    assert len([line for line in found[1].splitlines() if line.strip()]) <= 10
    names: dict[str, Any] = {}
    monkeypatch.chdir(tmp_path)
    exec(compile(found[1], "FORMAT.md", "exec"), names)  # noqa: S102 - the page is ours

    frames = names["frames"]
    first, _, speed = small_trace.series
    assert set(frames) == {"kit", "engine"}
    assert list(frames["kit"].columns) == ["pump1.main [Pa]", "pump2.main [Pa]"]
    np.testing.assert_array_equal(frames["kit"].index, first.times)
    np.testing.assert_array_equal(frames["kit"]["pump1.main [Pa]"], first.values)
    np.testing.assert_array_equal(frames["engine"]["engine.speed [rpm]"], speed.values)


def test_it_names_every_table_and_column() -> None:
    rows = dict(re.findall(r"^\| `(\w+)` \| (.*) \|$", PAGE, re.MULTILINE))
    for table in tables.ALL:
        for column in table.columns:
            assert re.search(rf"\b{column.name}\b", rows[table.name]), (table.name, column.name)


def test_it_names_every_quality_bit_and_the_version() -> None:
    for flag in Quality:
        if flag:
            assert re.search(rf"^\| {flag.value} \|", PAGE, re.MULTILINE)
    assert f"Format version {layout.FORMAT}." in PAGE


def test_it_names_every_path_in_a_file(small_trace: Trace, tmp_path: Path) -> None:
    path = write_trace(small_trace, tmp_path / "trace.h5")
    save_findings(path, FigureSet((), {}))
    named = set(re.findall(r"`/?(?:entry/)?([\w/]+)`", PAGE))
    with h5py.File(path) as file:
        for name in file[layout.ENTRY]:
            is_data = plain(file[f"entry/{name}"].attrs.get("NX_class")) == "NXdata"
            assert is_data or name == "streams" or name in named, name
