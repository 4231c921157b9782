"""The bounds of the format's page, from both sides: what they allow is read, one more is not."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import h5py
import numpy as np
import pytest

from gaugebench.errors import TraceError
from gaugebench.store import h5access, h5chunks, layout, tables
from gaugebench.store.h5text import COMPACT_BYTES, attribute, scalar

Opened = Callable[[Callable[[h5py.Group], None]], Any]


@pytest.fixture
def opened(tmp_path: Path) -> Opened:
    """The entry of a file that is made by a function of its entry."""

    @contextmanager
    def make(fill: Callable[[h5py.Group], None]) -> Iterator[h5access.Group]:
        path = tmp_path / "t.h5"
        with h5py.File(path, "w", libver=layout.LIBRARY_RANGE) as file:
            file.attrs["gaugebench_format"] = 1
            fill(file.create_group("entry"))
        with h5access.opened(path) as entry:
            yield entry

    return make


def test_a_text_may_be_as_long_as_it_may(opened: Opened) -> None:
    long = "ä" * (COMPACT_BYTES // 2)

    def fill(entry: h5py.Group) -> None:
        scalar(entry, "short", "grün")
        scalar(entry, "compact", long)
        scalar(entry, "chunked", f"{long}!")
        entry["block"] = np.bytes_(f"{long}!".encode())

    with opened(fill) as entry:
        assert h5access.text(entry, "none") == ""
        assert h5access.text(entry, "short", 5) == "grün"
        with pytest.raises(TraceError, match="“short” should be a text"):
            h5access.text(entry, "short", 4)
        assert h5access.text(entry, "compact") == long
        assert h5access.text(entry, "chunked") == f"{long}!"
        with pytest.raises(TraceError, match="“block” is not stored as the format says"):
            h5access.text(entry, "block")  # in a block of its own, which no checksum guards


def test_text_may_pack_so_well_and_no_better(opened: Opened) -> None:
    """A small file may tell 1 MiB."""

    def fill(entry: h5py.Group) -> None:
        scalar(entry, "most", "x" * layout.SMALL_TEXT)
        scalar(entry, "more", "x" * (layout.SMALL_TEXT + 1))

    with opened(fill) as entry:
        assert h5access.file_bytes(entry) * layout.LARGEST_TEXT_RATIO < layout.SMALL_TEXT
        assert len(h5access.text(entry, "most")) == layout.SMALL_TEXT
        with pytest.raises(TraceError, match="“more” declares more than the file holds"):
            h5access.text(entry, "more")


@pytest.mark.parametrize("kept", [0, 400_000])
def test_samples_may_pack_so_well_and_no_better(opened: Opened, kept: int) -> None:
    """300 times the size of the file, or 64 MiB."""
    with opened(lambda entry: _noise(entry, kept)) as entry:
        ratio = layout.LARGEST_RATIO * h5access.file_bytes(entry)
        assert (ratio > layout.SMALL_BYTES) == bool(kept)
        most = ratio if kept else layout.SMALL_BYTES
        h5access.refuse_unlikely(entry, "streams", most)
        with pytest.raises(TraceError, match="“streams” declares more"):
            h5access.refuse_unlikely(entry, "streams", most + 1)


def _noise(entry: h5py.Group, count: int) -> None:
    entry["noise"] = np.random.default_rng(1).integers(0, 256, count, np.uint8)


def test_a_table_may_have_so_many_rows(opened: Opened, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(layout, "MOST_ROWS", 50)
    monkeypatch.setattr(layout, "LARGEST_TABLE", 1600)
    kinds = {"rows": ("S1", 50), "bytes": ("S50", 32), "row": ("S1", 51), "byte": ("S50", 33)}

    def fill(entry: h5py.Group) -> None:
        for name, (kind, count) in kinds.items():
            entry.create_dataset(name, data=np.array([(b"x",)] * count, [("text", kind)]))
        entry.create_dataset("none", (40,), [("text", "S40")], chunks=(40,))

    def table(entry: h5access.Group, name: str) -> list[dict[str, Any]]:
        return h5access.table(entry, tables.Table(name, tables.REMARKS.columns))

    with opened(fill) as entry:
        # Not in chunks, as the others: what says so comes after what counts.
        for name in ("rows", "bytes"):
            with pytest.raises(TraceError, match="not stored as the format says"):
                table(entry, name)
        for name in ("row", "byte"):
            with pytest.raises(TraceError, match=f"“{name}” is too large"):
                table(entry, name)
        with pytest.raises(TraceError, match="“none” declares more"):
            table(entry, "none")
        assert table(entry, "absent") == []


def test_a_table_is_cut_so_that_it_can_be_read(
    opened: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Further rows are left out, then the longest texts halved, between two characters."""
    monkeypatch.setattr(layout, "MOST_ROWS", 4)
    monkeypatch.setattr(layout, "LARGEST_TABLE", 4 * (100 + 8 + 3))
    kinds = {"long": "text", "n": "i8", "s": "text"}
    which = tables.Table("many", tuple(tables.Column(*kind) for kind in kinds.items()))
    rows = [{"long": "ä" * 100, "n": n, "s": "end"} for n in range(6)]
    rows[1] = {"long": "x" + "ä" * 60, "n": None, "s": None}
    with opened(lambda entry: tables.write(entry, which, rows)) as entry:
        assert h5access.table(entry, which) == [
            {"long": "ä" * 50, "n": 0, "s": "end"},
            {"long": "x" + "ä" * 49, "n": None, "s": ""},
            {"long": "ä" * 50, "n": 2, "s": "end"},
            {"long": "ä" * 50, "n": 3, "s": "end"},
        ]
    with opened(lambda entry: tables.write(entry, which, rows[:3])) as entry:
        assert len(h5access.table(entry, which)[0]["long"]) == 50  # 3 x 211 bytes are too many
    with opened(lambda entry: tables.write(entry, which, rows[:2])) as entry:
        assert h5access.table(entry, which)[0]["long"] == "ä" * 100


def test_a_path_may_have_six_parts(opened: Opened) -> None:
    def fill(entry: h5py.Group) -> None:
        entry.create_group("a/b/c/d/e/f/g")
        entry.create_group("n" * 4 * layout.LONGEST_NAME)
        entry.create_group("n" * (4 * layout.LONGEST_NAME + 1))

    with opened(fill) as entry:
        assert h5access.has(h5access.group(entry, "a/b/c/d/e/f"), "g")
        h5access.group(entry, "n" * 4 * layout.LONGEST_NAME)
        for name in ("a/b/c/d/e/f/g", "n" * (4 * layout.LONGEST_NAME + 1)):
            with pytest.raises(TraceError, match="a path that is too long"):
                h5access.group(entry, name)
        for name in ("a/x", "a//b", ""):
            with pytest.raises(TraceError, match="is not in the file"):
                h5access.group(entry, name)


def test_attributes_are_texts_and_whole_numbers_of_a_megabyte_at_most(opened: Opened) -> None:
    most = 1 << 20

    def fill(entry: h5py.Group) -> None:
        attribute(entry, "text", "Grün")
        attribute(entry, "texts", ("a", "bc"))
        attribute(entry, "number", -3)
        entry.attrs["most"] = np.bytes_(b"x" * most)
        entry.attrs["more"] = np.bytes_(b"x" * (most + 1))
        entry.attrs["float"] = 1.5
        entry.attrs["square"] = np.zeros((2, 2), np.int64)

    with opened(fill) as entry:
        got = {name: h5access.attribute(entry, name) for name in ("text", "texts", "number")}
        assert got == {"text": "Grün", "texts": ["a", "bc"], "number": -3}
        assert len(h5access.attribute(entry, "most")) == most
        for name in ("more", "float", "square", "none"):
            assert h5access.attribute(entry, name) is None


def test_samples_and_numbers_are_of_their_kind_and_length(opened: Opened) -> None:
    def fill(entry: h5py.Group) -> None:
        entry.create_dataset("times", data=np.arange(300.0), chunks=True)
        entry.create_dataset("pairs", data=np.zeros((300, 2)), chunks=True)
        scalar(entry, "count", 5)
        entry["share"] = 0.5
        entry["counts"] = np.arange(3)

    with opened(fill) as entry:
        assert h5access.samples(entry, "times", "<f8", 300)[299] == 299.0
        assert h5access.samples(entry, "pairs", "<f8", 300, columns=2).shape == (300, 2)
        with pytest.raises(TraceError, match="“times” should have 299 rows"):
            h5access.samples(entry, "times", "<f8", 299)
        for kind, columns in (("<f4", 0), ("<u2", 0), ("<f8", 1), ("<f8", 2)):
            with pytest.raises(TraceError, match="not stored as the format says"):
                h5access.samples(entry, "times", kind, columns=columns)
        assert h5access.number(entry, "count") == 5
        for name in ("share", "counts"):
            with pytest.raises(TraceError, match=f"“{name}” is not stored as the format says"):
                h5access.number(entry, name)


def test_the_formats_page_states_the_bounds_that_hold() -> None:
    page = (Path(layout.__file__).parent / "FORMAT.md").read_text(encoding="utf-8")
    mib = 1 << 20
    for told in (
        f"{layout.LARGEST_RATIO} times the size of the file, or {layout.SMALL_BYTES // mib} MiB |",
        f"{h5chunks.SMALLEST_CHUNK // 1024} KiB to {h5chunks.LARGEST_CHUNK // mib} MiB unpacked",
        f"| {layout.MOST_CHANNELS} each;",
        f"{layout.LONGEST_NAME} characters",
        f"2^{layout.MOST_ROWS.bit_length() - 1} rows, {layout.LARGEST_TABLE // mib} MiB",
        f"| {layout.LONGEST_TEXT // mib} MiB, the figures {layout.LONGEST_FIGURES // mib} MiB;",
        f"{layout.LARGEST_TEXT_RATIO} times the size of the file, or {layout.SMALL_TEXT // mib} Mi",
        f"to {COMPACT_BYTES // 1000} 000 bytes",
    ):
        assert told in page
    assert layout.MOST_ROWS.bit_count() == 1
