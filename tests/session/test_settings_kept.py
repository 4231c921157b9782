"""The settings travel with a record: what a sheet says of the machine holds wherever it is read."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from gaugebench.analyse.figures import analyse
from gaugebench.analyse.jsonform import as_json
from gaugebench.analyse.settings import Sense, Settings
from gaugebench.errors import TraceError
from gaugebench.session.finish import add_figures, figures_of, kept_settings
from gaugebench.store.opening import open_trace
from gaugebench.store.tracefile import TraceFile, save_findings, write_trace
from tests.analyse.conftest import FOLDER, read_labelled

OTHERS = Settings(0.05, Sense.RISING, 0.01, 0.05)


@pytest.fixture
def trace_file(tmp_path: Path) -> Callable[[str], Path]:
    """A trace file made of a labelled trace."""

    def make(name: str) -> Path:
        path = tmp_path / f"{name}.h5"
        write_trace(read_labelled(FOLDER / f"{name}.csv.gz"), path)
        return path

    return make


@pytest.mark.parametrize("name", ["trace010", "trace017", "visit004"])
@pytest.mark.parametrize("settings", [Settings(), OTHERS], ids=["usual", "others"])
def test_figures_come_out_the_same_again_bit_for_bit(
    trace_file: Callable[[str], Path], name: str, settings: Settings
) -> None:
    path = trace_file(name)
    add_figures(path, settings)
    stored = TraceFile(path).annexe.figures
    assert stored is not None
    again = figures_of(path)
    assert again == stored
    # The text too: every digit of every number.
    assert json.dumps(as_json(again)) == json.dumps(as_json(stored))
    assert kept_settings(path) == settings


def test_what_the_settings_keep_is_what_they_were() -> None:
    for settings in (Settings(), OTHERS):
        assert Settings.from_mapping(settings.as_mapping()) == settings
    assert Settings.from_mapping({"control_sense": "falling"}).control_sense is Sense.FALLING


def test_a_trace_without_figures_has_the_usual_settings(trace_file: Callable[[str], Path]) -> None:
    assert kept_settings(trace_file("trace010")) == Settings()
    assert kept_settings(FOLDER / "trace010.csv.gz") == Settings()


def test_damaged_settings_are_said(trace_file: Callable[[str], Path]) -> None:
    path = trace_file("trace010")
    found = analyse(open_trace(path))
    save_findings(path, replace(found, settings={"settle_share": np.inf}))
    with pytest.raises(TraceError, match="settings kept in"):
        kept_settings(path)
