"""Text that is made to take all memory or for ever: one sentence, within bounds."""

from __future__ import annotations

import gzip
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import pytest

from gaugebench.errors import ImportChoiceNeeded, TraceError
from gaugebench.model.trace import Trace
from gaugebench.store.importing import importer, sniff
from gaugebench.store.importing import text as text_module
from gaugebench.store.importing.recipe import Recipe
from gaugebench.store.opening import open_trace

Read = Callable[..., Trace]
HEAD = "t [s],P1 [bar]\n"
ROWS = "0,1\n1,2\n"


def _gzip(tmp_path: Path, *pieces: bytes) -> Path:
    path = tmp_path / "log.csv.gz"
    with gzip.open(path, "wb") as file:
        for piece in pieces:
            file.write(piece)
    return path


def test_a_gzip_of_rows_without_end_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In small: the same bounds in proportion, as reading real ones takes a while."""
    monkeypatch.setattr(text_module, "BLOCK_BYTES", 1 << 16)
    monkeypatch.setattr(text_module, "MOST_UNPACKED", 1 << 20)
    path = _gzip(tmp_path, HEAD.encode(), b"0,1\n" * (1 << 20))
    assert path.stat().st_size < 20_000
    with pytest.raises(TraceError, match="unpacks to over 500 times its size, which no log does"):
        open_trace(path)
    with pytest.raises(TraceError, match="500 times"):
        importer.import_to_file(path, tmp_path / "log.h5", Recipe())
    assert list(tmp_path.iterdir()) == [path]


def test_a_dead_channel_packs_well_and_is_no_bomb(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(text_module, "BLOCK_BYTES", 1 << 16)
    monkeypatch.setattr(text_module, "MOST_UNPACKED", 1 << 20)
    rows = "".join(f"08:{s // 60:02}:{s % 60:02},0.0,0.0\n" * 1000 for s in range(100))
    path = _gzip(tmp_path, b"time,P1 [bar],P2 [bar]\n", rows.encode())
    assert len(rows) > 250 * path.stat().st_size
    assert len(open_trace(path).series[0]) == 100_000


@pytest.mark.parametrize("filler", [bytes(1 << 20), b"1" * (1 << 20)], ids=["zeros", "digits"])
def test_a_gzip_of_one_line_without_end_is_refused_in_little_memory(
    tmp_path: Path, filler: bytes
) -> None:
    path = _gzip(tmp_path, (HEAD + ROWS).encode(), *[filler] * 200)
    tracemalloc.start()
    try:
        with pytest.raises(TraceError, match="a line too long"):
            open_trace(path)
        assert tracemalloc.get_traced_memory()[1] < 120_000_000
    finally:
        tracemalloc.stop()


def test_more_samples_than_memory_is_likely_to_hold_are_refused(
    tmp_path: Path, read: Read, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = HEAD + "".join(f"{n},{n}\n" for n in range(1000))
    monkeypatch.setattr(importer, "LARGEST_IN_MEMORY", 1000 * importer.SAMPLE_BYTES)
    assert len(read(text).series[0]) == 1000
    with pytest.raises(TraceError, match=r"too many to hold at once; .*gaugebench convert log.csv"):
        read(text + "1000,1\n")
    assert importer.import_to_file(tmp_path / "log.csv", tmp_path / "log.h5", Recipe()).exists()


def test_more_columns_than_a_table_has_are_refused(read: Read) -> None:
    wide = "t [s]" + ",a [bar]" * sniff.MOST_COLUMNS + "\n" + "0" + ",1" * sniff.MOST_COLUMNS + "\n"
    with pytest.raises(TraceError, match="rows of 4097 columns, more than the 4096 that are read"):
        read(wide)


LONG = 100_000
BLANKS = " " * LONG


@pytest.mark.parametrize(
    "text",
    [
        f"t [s],P1{BLANKS}x [bar]\n{ROWS}",
        f"t [s],{'a/' * LONG}\n{ROWS}",
        f"t [s],{'[(' * LONG}\n{ROWS}",
        f"t [s],P [{'9**' * 9}9 bar]\n{ROWS}",
        f"{HEAD}0,{'1' * LONG}x\n1,2\n",
        f"time,P1 [bar]\n08:00:00{BLANKS}x,1\n08:00:01,2\n08:00:02,3\n",
        f"time,P1 [bar]\n2025-04-05 08:00:00,1\n2025-04-05{BLANKS}x,2\n2025-04-05 08:00:02,3\n",
        f'{HEAD}{ROWS}2,"{chr(34) * LONG}\n',
        f"{'#' * LONG}\n{HEAD}{ROWS}",
        "x\n" * LONG + HEAD + ROWS,
        "\n" * LONG + HEAD + ROWS,
    ],
)
@pytest.mark.timeout(20)
def test_a_cell_as_long_as_a_book_takes_no_time(read: Read, text: str) -> None:
    """Some patterns take the square of a text's length: 100 000 blanks took minutes."""
    try:
        assert read(text).series
    except ImportChoiceNeeded as fault:
        assert len(str(fault)) < 1000  # noqa: PT017 - most of these can be read


def test_a_quote_that_is_never_closed_costs_its_own_row(read: Read) -> None:
    rows = [f"{n},{n}\n" for n in range(2000)]
    rows[1000] = '1000,"1000\n'
    rows[1500] = '"1500,1500\n'
    trace = read(HEAD + "".join(rows))
    assert len(trace.series[0]) == 1998
    assert trace.rejects == {"open quote": 2}


def test_a_mark_of_inches_is_no_quote(read: Read) -> None:
    rows = "".join(f'{n},{n},hose 1/2" long\n' for n in range(20))
    trace = read("t [s],P1 [bar],note\n" + rows)
    assert len(trace.series[0]) == 20
    assert trace.rejects == {}


@pytest.mark.parametrize(
    ("begins", "what"),
    [
        (b"\x1f\x8b", "packed more than once"),
        (b"BZh9", "packed by bzip2"),
        (b"\xfd7zXZ\0", "packed by xz"),
        (b"\x28\xb5\x2f\xfd", "packed by zstd"),
        (b"7z\xbc\xaf", "a 7z archive"),
        (b"Rar!", "a RAR archive"),
    ],
)
def test_what_is_packed_otherwise_is_named(tmp_path: Path, begins: bytes, what: str) -> None:
    with pytest.raises(TraceError, match=f"is {what}; unpack it"):
        open_trace(_gzip(tmp_path, begins + bytes(range(256))))


@pytest.mark.parametrize("unit", ["epoch-s", "epoch-ms", "days"])
@pytest.mark.parametrize("first", ["1e30", "-1e300", "1e17"])
def test_an_instant_beyond_the_calendar_is_told(read: Read, unit: str, first: str) -> None:
    """Days beyond a spreadsheet's are taken for a duration, as they would be in seconds."""
    text = f"t,P1 [bar]\n{first},1\n{first},2\n"
    if unit == "days":
        assert len(read(text, time_unit=unit).series[0]) == 2
        return
    with pytest.raises(TraceError, match=r"is no instant .*--time-unit"):
        read(text, time_unit=unit)
