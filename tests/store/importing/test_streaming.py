"""A file of any length goes straight to a trace file, the same as through memory."""

from __future__ import annotations

from pathlib import Path

import pytest

from gaugebench.errors import RecordError, TraceError
from gaugebench.store.importing import text as text_module
from gaugebench.store.importing.importer import import_to_file, import_trace
from gaugebench.store.importing.recipe import Recipe
from gaugebench.store.tracefile import TraceFile
from gaugebench.store.verify import verify


@pytest.fixture
def log(tmp_path: Path) -> Path:
    rows = []
    for n in range(5000):
        if 1000 <= n < 1020:
            continue
        rows.append(f"{n / 100:.2f},{n % 97}.5,{n if n % 10 == 0 else ''},{n % 11}")
        if n % 700 == 13:
            rows.append(f"{n},bad")
    path = tmp_path / "log.csv"
    path.write_text("time [s],P1 [bar],T [°C],P1 [bar]\n" + "\n".join(rows) + "\n")
    return path


def test_it_is_the_same_as_through_memory(
    log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = import_trace(log, Recipe())
    monkeypatch.setattr(text_module, "BLOCK_BYTES", 5000)
    path = import_to_file(log, tmp_path / "log.h5", Recipe())
    assert verify(path) == []
    file = TraceFile(path)
    stored = {s.channel.dimension: s for s in file.trace().series}
    for one in whole.series[1:]:
        two = stored[one.channel.dimension]
        assert one.stream == two.stream
        for name in ("times", "values", "raw", "quality"):
            assert getattr(one, name).tobytes() == getattr(two, name).tobytes(), name
    assert file.head.gaps == whole.gaps
    assert whole.gaps[0].lost == 20
    assert file.head.rejects == whole.rejects == {"too few columns": 8}
    assert file.annexe.rejected[0].samples[0] == b"13,bad"
    assert file.head.recipe == whole.recipe


def test_two_columns_of_one_name_are_two_series(log: Path) -> None:
    names = [s.channel.name for s in import_trace(log, Recipe()).series]
    assert names == ["P1", "T", "P1"]


def test_stopping_leaves_nothing_behind(
    log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(text_module, "BLOCK_BYTES", 5000)
    with pytest.raises(TraceError, match="was stopped"):
        import_to_file(log, tmp_path / "log.h5", Recipe(), lambda share: share < 0.5)
    assert list(tmp_path.iterdir()) == [log]


def test_a_target_that_cannot_be_written_is_told(log: Path, tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="cannot be written"):
        import_to_file(log, tmp_path / "no folder" / "log.h5", Recipe())
