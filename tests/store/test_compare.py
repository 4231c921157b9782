"""What sealing holds against the journal: each kind of difference is found and named."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import h5py
import numpy as np
import pytest

from gaugebench.errors import RecordError
from gaugebench.model.block import Block
from gaugebench.model.event import Setup
from gaugebench.store import compare as comparing
from gaugebench.store import layout, seal
from gaugebench.store.compare import compare
from gaugebench.store.disk import RealDisk
from gaugebench.store.journal import JournalWriter
from gaugebench.store.payload import encode
from gaugebench.store.reading import JournalReader

Change = Callable[[Any], None]
ROWS = 250
TIMES = "entry/streams/kit/time"
VALUES = "entry/kit_pressure_gauge/pump2.main"
RAW = "entry/streams/kit/raw/pump2.main"
QUALITY = "entry/streams/kit/quality/pump2.main"


@pytest.fixture
def journal(tmp_path: Path, setup: Setup, blocks: Callable[..., list[Block]]) -> Path:
    writer = JournalWriter(tmp_path / "visit.journal", setup, RealDisk())
    for block in blocks(8, 5, ROWS // 5):
        writer.append([writer.pack(*encode(block))])
    writer.sync()
    writer.close()
    writer.release()
    return writer.folder


def _last(dataset: Any) -> None:
    dataset[-1] = dataset[-1] + 1


def _hidden(dataset: Any) -> None:
    dataset[ROWS // 2] = np.nan


def _shorter(dataset: Any) -> None:
    file, name = dataset.file, dataset.name
    kept = dataset[:-1]
    del file[name]
    file.create_dataset(name, data=kept, **layout.STORED)


def _longer(dataset: Any) -> None:
    file, name = dataset.file, dataset.name
    kept = np.append(dataset[:], dataset[-1:])
    del file[name]
    file.create_dataset(name, data=kept, **layout.STORED)


@pytest.mark.parametrize(
    ("name", "change", "told"),
    [
        (TIMES, _last, "times of stream kit"),
        (RAW, _last, "raw values of pump2.main"),
        (VALUES, _last, "values of pump2.main"),
        (VALUES, _hidden, "values of pump2.main"),
        (QUALITY, _last, "quality of pump2.main"),
        (TIMES, _shorter, "stream kit has 249 rows, fewer than the journal"),
        (TIMES, _longer, "stream kit has more rows than the journal"),
    ],
    ids=["times", "raw", "values", "a missing value", "quality", "fewer rows", "more rows"],
)
def test_a_difference_is_named(
    journal: Path,
    monkeypatch: pytest.MonkeyPatch,
    name: str,
    change: Change,
    told: str,
) -> None:
    part = journal.with_name("part.h5")
    seal.build(JournalReader(journal), part)
    assert compare(JournalReader(journal), part) is None
    with h5py.File(part, "r+", libver=layout.LIBRARY_RANGE) as file:
        change(file[name])
    for piece_rows in (1 << 18, 100):
        monkeypatch.setattr(comparing, "_PIECE_ROWS", piece_rows)
        said = compare(JournalReader(journal), part)
        assert said is not None
        assert said.startswith(told)


def test_a_trace_that_differs_gets_no_name_and_the_journal_stays(
    journal: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole_build = seal.build

    def build(reader: JournalReader, part: Path) -> None:
        whole_build(reader, part)
        with h5py.File(part, "r+", libver=layout.LIBRARY_RANGE) as file:
            file[VALUES][7] = 0.0

    monkeypatch.setattr(seal, "build", build)
    before = {p.name: p.read_bytes() for p in journal.iterdir()}
    wanted = journal.with_name("visit.h5")
    with pytest.raises(RecordError, match=r"differs from it \(values of pump2.main from row 0\)"):
        seal.seal(journal, wanted)
    assert not wanted.exists()
    assert {p.name: p.read_bytes() for p in journal.iterdir()} == before
    monkeypatch.setattr(seal, "build", whole_build)
    assert seal.seal(journal, wanted) == wanted
    assert list(wanted.parent.iterdir()) == [wanted]
