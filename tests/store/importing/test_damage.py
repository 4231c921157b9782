"""Files that were cut or damaged: whole rows come, the rest is told."""

from __future__ import annotations

import gzip
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gaugebench.errors import GaugebenchError, TraceError
from gaugebench.model.quality import Quality
from gaugebench.model.trace import Trace
from gaugebench.store.importing import text as text_module
from gaugebench.store.importing.importer import import_trace
from gaugebench.store.importing.recipe import Recipe
from gaugebench.store.opening import open_trace

Read = Callable[..., Trace]
HEAD = "t [s],P1 [bar],P2 [bar]\n"
ROWS = "0.00,187.4,188.0\n0.01,187.5,188.1\n"


def _rows(trace: Trace) -> list[list[float]]:
    assert all(s.raw is not None for s in trace.series)
    return [s.raw.tolist() for s in trace.series if s.raw is not None]


@pytest.mark.parametrize(
    ("tail", "unread"),
    [
        (b"0.02,18" + bytes(512), 519),
        (b"0.02,18", 7),
        (b"0.02,187.6,18", 13),
        (b"0.02,187.6,", 11),
        (b"0", 1),
        (b"0.02,187.6,188.2" + bytes(3), 19),
        (b"0.02,187.6,1\xb2", 13),
    ],
)
def test_a_half_last_row_is_told_and_not_taken(read: Read, tail: bytes, unread: int) -> None:
    trace = read((HEAD + ROWS).encode() + tail)
    assert _rows(trace) == [[187.4, 187.5], [188.0, 188.1]]
    (told,) = [r for r in trace.remarks if "ends mid-row" in r]
    assert told == f"The file ends mid-row; {unread} bytes were not read."


@pytest.mark.parametrize("tail", ["0.02,187.6,188.2", "0.02,187.6,88.2", "0.02,187.6,1188.25"])
def test_a_whole_last_row_without_a_line_end_is_taken(read: Read, tail: str) -> None:
    trace = read(HEAD + ROWS + tail)
    assert _rows(trace)[1][-1] == float(tail.rpartition(",")[2])
    assert trace.remarks == ()


def test_nul_bytes_behind_the_last_line_are_told(read: Read) -> None:
    trace = read((HEAD + ROWS).encode() + bytes(100))
    assert len(trace.series[0]) == 2
    assert "The file ends in 100 NUL bytes, which were not read." in trace.remarks


BAD: list[tuple[str, str, dict[str, int]]] = [
    ("short", "0.02,18\n", {"too few columns": 1}),
    ("long", "0.02,187.6,188.2,9\n", {"too many columns": 1}),
    ("words", "shut down at 14:00\n", {"too few columns": 1}),
    ("glued", "0.02,187.0.03,187.7,188.3\n", {"too many columns": 1}),
    ("nul", "0.02,18\0\0\0\0,188.2\n", {"NUL bytes": 1}),
    ("no time", ",187.6,188.2\n", {"no time": 1}),
    ("no number for time", "x,187.6,188.2\n", {"not a number": 1, "no time": 1}),
]


@pytest.mark.parametrize(("_kind", "bad", "counts"), BAD)
def test_a_bad_row_in_the_middle_is_skipped_and_counted(
    read: Read, _kind: str, bad: str, counts: dict[str, int]
) -> None:
    trace = read(HEAD + ROWS + bad + "0.04,187.8,188.4\n")
    assert _rows(trace) == [[187.4, 187.5, 187.8], [188.0, 188.1, 188.4]]
    assert trace.rejects == counts


@pytest.mark.parametrize("cell", ["187.4x", "0x10", "1.2.3", "seven", "1e", "#"])
def test_a_cell_that_is_no_number_is_missing_and_counted(read: Read, cell: str) -> None:
    trace = read(HEAD + ROWS + f"0.02,{cell},188.2\n")
    first, second = trace.series
    assert first.quality.tolist() == [0, 0, Quality.MISSING]
    assert second.values.tolist() == pytest.approx([188.0e5, 188.1e5, 188.2e5])
    assert trace.rejects == {"not a number": 1}


@pytest.mark.parametrize("word", ["nan", "inf", "-nan", "ovf", "---", "N/A", "OL", "#N/A", "null"])
def test_a_word_for_no_number_is_a_missing_sample(read: Read, word: str) -> None:
    trace = read(HEAD + ROWS + f"0.02,{word},188.2\n0.03,187.7,188.3\n")
    assert trace.series[0].quality.tolist() == [0, 0, Quality.MISSING, 0]
    assert trace.rejects == {}


def test_a_loggers_own_word_is_taken_from_the_recipe(read: Read) -> None:
    text = HEAD + ROWS + "0.02,kaputt,188.2\n"
    assert read(text).rejects == {"not a number": 1}
    assert read(text, missing=("kaputt",)).rejects == {}


def test_a_gzip_that_was_cut_gives_what_it_holds(tmp_path: Path) -> None:
    rows = "".join(f"{n / 100:.2f},{n}.5,1\n" for n in range(20_000))
    whole = gzip.compress((HEAD + rows).encode())
    path = tmp_path / "log.txt.gz"
    path.write_bytes(whole[: len(whole) // 2])
    trace = open_trace(path)
    assert 5_000 < len(trace.series[0]) < 15_000
    assert trace.series[0].raw is not None
    assert trace.series[0].raw.tolist() == [n + 0.5 for n in range(len(trace.series[0]))]
    assert any("cut short" in r for r in trace.remarks)


@pytest.mark.parametrize("content", [b"", bytes(99), b"hello", b"\n\n\n", b"a,b\nc,d\n", b"1\n2\n"])
def test_what_is_no_table_is_one_sentence(read: Read, content: bytes) -> None:
    with pytest.raises(TraceError) as caught:
        read(content)
    assert str(caught.value).endswith(".")


@pytest.mark.parametrize("mark", [b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"PAR1"])
def test_a_spreadsheet_is_told_apart(read: Read, mark: bytes) -> None:
    with pytest.raises(TraceError, match="save its sheet as CSV"):
        read(mark + bytes(range(256)))


def test_a_line_without_end_is_refused_within_bounds(
    read: Read, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(text_module, "LONGEST_LINE", 1000)
    monkeypatch.setattr(text_module, "BLOCK_BYTES", 700)
    with pytest.raises(TraceError, match="a line too long"):
        read(HEAD + ROWS + "1," * 5000)


@pytest.mark.parametrize("block", [60, 61, 67, 100, 1000])
def test_where_blocks_are_cut_changes_nothing(
    read: Read, monkeypatch: pytest.MonkeyPatch, block: int
) -> None:
    rows = "".join(f"{n / 100:.2f},{n}.5,{'' if n % 3 else n}\r\n" for n in range(300))
    text = HEAD.replace("\n", "\r\n") + rows
    whole = read(text)
    monkeypatch.setattr(text_module, "BLOCK_BYTES", block)
    pieces = read(text)
    assert _rows(pieces) == _rows(whole)
    assert [len(s) for s in pieces.series] == [300, 100]


def test_progress_is_told_and_reading_can_be_stopped(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(text_module, "BLOCK_BYTES", 1000)
    path = tmp_path / "log.csv"
    path.write_text(HEAD + "".join(f"{n},{n},{n}\n" for n in range(2000)))
    told: list[float] = []

    def go_on(share: float) -> bool:
        told.append(share)
        return True

    import_trace(path, Recipe(), go_on)
    assert told == sorted(told)
    assert told[-1] == 1.0
    with pytest.raises(TraceError, match="was stopped"):
        import_trace(path, Recipe(), lambda share: share < 0.5)


@given(st.binary(max_size=400) | st.text(max_size=200).map(str.encode))
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_bytes_give_a_trace_or_one_sentence(
    tmp_path_factory: pytest.TempPathFactory, content: bytes
) -> None:
    path = tmp_path_factory.mktemp("fuzz") / "log.csv"
    path.write_bytes(content)
    try:
        assert open_trace(path).series
    except GaugebenchError:
        return


@given(
    st.lists(
        st.lists(
            st.sampled_from(["0", "1.5", "2,5", "nan", "", "x", "08:00:00", "3/4/2025", '"', "\0"]),
            min_size=1, max_size=4,
        ),
        max_size=12,
    ),
    st.sampled_from([",", ";", "\t", " "]),
)  # fmt: skip
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_table_gives_a_trace_or_one_sentence(
    tmp_path_factory: pytest.TempPathFactory, rows: list[list[str]], separator: str
) -> None:
    path = tmp_path_factory.mktemp("fuzz") / "log.csv"
    lines = ["time [s]" + separator + "P1 [bar]", *(separator.join(r) for r in rows)]
    path.write_text("\n".join(lines))
    try:
        assert open_trace(path).series
    except GaugebenchError:
        return
