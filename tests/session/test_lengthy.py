"""Figures taken piece by piece are those of the whole trace."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from gaugebench.analyse.figures import analyse
from gaugebench.analyse.jsonform import as_json
from gaugebench.errors import AnalysisError
from gaugebench.model.role import Role
from gaugebench.session import lengthy
from gaugebench.session.lengthy import analyse_file
from gaugebench.store.opening import open_trace
from gaugebench.store.tracefile import TraceFile, write_trace

DATA = Path(__file__).parents[1] / "analyse" / "data" / "labelled"


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> TraceFile:
    trace = open_trace(DATA / "trace002.csv.gz")
    return TraceFile(write_trace(trace, tmp_path_factory.mktemp("long") / "t.h5"))


def _same(one: Any, other: Any) -> bool:
    """Alike to the last digits: the interval between samples is rounded where windows begin."""
    match one:
        case dict():
            return one.keys() == other.keys() and all(_same(one[k], other[k]) for k in one)
        case list() | tuple():
            return len(one) == len(other) and all(map(_same, one, other))
        case float():
            return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)
        case _:
            return bool(one == other)


def test_piece_by_piece_is_as_in_one(file: TraceFile, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lengthy, "PIECE_SAMPLES", 500)
    told: list[float] = []

    def go_on(share: float) -> bool:
        told.append(share)
        return True

    whole = analyse(file.trace())
    found = analyse_file(file, progress=go_on)
    assert len(whole.loadings) > 0
    assert _same(as_json(found), as_json(whole))
    assert found.marks == whole.marks
    assert len(told) > 3
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_it_is_stopped_when_asked(file: TraceFile) -> None:
    with pytest.raises(AnalysisError, match="stopped"):
        analyse_file(file, progress=lambda _: False)


def test_other_roles_count_and_none_at_all_is_said(file: TraceFile) -> None:
    names = [p.channel.name for p in file.places]
    with pytest.raises(AnalysisError, match="main pressure"):
        analyse_file(file, roles=dict.fromkeys(names))
    role = next(p.channel.name for p in file.places if p.channel.role == Role.main(2))
    found = analyse_file(file, roles={role: None})
    assert {n for loading in found.loadings for n in loading.pumps} == {1}
