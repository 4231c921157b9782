"""The text line codec: lines cut anywhere, noise, cells without a number, checksums."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebench.wire import text_line
from gaugebench.wire.text_line import Decoded, LineDecoder, LineFormat, encode_line

TIMED = LineFormat(cells=3, values=(1, 2), time=0)
PLAIN = LineFormat(cells=2, values=(0, 1))

NAN = math.nan


def decode(layout: LineFormat, *reads: bytes, finish: bool = True) -> Decoded:
    """Everything that the reads hold."""
    decoder = LineDecoder(layout)
    parts = [decoder.feed(read) for read in reads]
    if finish:
        parts.append(decoder.finish())
    times = None if layout.time is None else np.concatenate([_times(p) for p in parts])
    return Decoded(
        np.concatenate([p.values for p in parts]), times, sum((p.bad for p in parts), ())
    )


def _times(part: Decoded) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    assert part.times is not None
    return part.times


def rows(found: Decoded) -> list[tuple[float, ...]]:
    """Rows as (time in ms, values…)."""
    columns = found.values.tolist()
    if found.times is None:
        return [tuple(row) for row in columns]
    return [(round(t * 1e3, 6), *row) for t, row in zip(found.times.tolist(), columns, strict=True)]


def test_a_line_that_was_joined_midway_is_dropped_and_cuts_do_no_harm() -> None:
    found = decode(
        TIMED,
        b"7.4,212.0\r\n100",
        b"0,187.",
        b"4,188.1\r",
        b"\n1010,187.5,188.0\n1020,187.6,18",
        b"8.2\r",
    )
    assert rows(found) == [(1000, 187.4, 188.1), (1010, 187.5, 188.0), (1020, 187.6, 188.2)]
    assert [(b.kind, b.raw) for b in found.bad] == [(text_line.FIRST_LINE, b"7.4,212.0")]


@pytest.mark.parametrize("first", [b"7.4", b"1,2,3", b"", b"0,187.4,188.1"])
def test_the_first_line_is_dropped_even_where_it_reads_well(first: bytes) -> None:
    found = decode(TIMED, first + b"\n1000,1,2\n")
    assert rows(found) == [(1000, 1.0, 2.0)]


def test_a_one_channel_stream_is_not_fooled_by_its_first_half_line() -> None:
    found = decode(LineFormat(1, (0,)), b"7.4\n187.4\r187.5\r\n187.6\n\r187.7\n")
    assert rows(found) == [(187.4,), (187.5,), (187.6,), (187.7,)]


def test_boot_noise_is_counted_and_kept() -> None:
    noise = b"\xe0\x8c\x1c\xff\x00\xf3rst:0x1 (POWERON)\r\n"
    found = decode(
        TIMED, noise + b"load:0x3fff,len:48\r\n0,0.2,0.1\r\n10,0.\xb22,0.1\r\n20,0.2,0.1\r\n"
    )
    assert rows(found) == [(0, 0.2, 0.1), (20, 0.2, 0.1)]
    assert [b.raw for b in found.bad] == [
        noise.strip(), b"load:0x3fff,len:48", b"10,0.\xb22,0.1",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        (b"10,0.2,0.\x001", text_line.UNDECODABLE),
        (b"10,0.2,0.1\xc3", text_line.UNDECODABLE),
        (b"ets Jul 29 2019", text_line.TEXT),
        (b"t_ms,P1_bar,P2_bar", text_line.TEXT),
        (b"10,0.2", text_line.WRONG_CELLS),
        (b"10,0.2,0.1,0.3", text_line.WRONG_CELLS),
        (b"10,0.2,0..1", text_line.NOT_A_NUMBER),
        (b"10,0.2,1_0", text_line.NOT_A_NUMBER),
        (b"10,0.2,0x10", text_line.NOT_A_NUMBER),
        (b"ten,0.2,0.1", text_line.NOT_A_NUMBER),
        (b"nan,0.2,0.1", text_line.NOT_A_NUMBER),
        (b"9" * 2000, text_line.TOO_LONG),
    ],
)
def test_each_kind_of_bad_line_has_its_name(line: bytes, kind: str) -> None:
    found = decode(TIMED, b"\n" + line + b"\n20,1,2\n")
    assert rows(found) == [(20, 1.0, 2.0)]
    assert [b.kind for b in found.bad] == [kind]


def test_cells_without_a_number_are_missing_and_the_row_stays() -> None:
    found = decode(
        TIMED,
        b"\r\n100,nan,188.0\r\n110,inf,188.1\r\n120,ovf,188.0\r\n130,,188.2\r\n140,-nan,188.1\r\n"
        b"150,0.00,188.2\r\n160,OL,1e400\r\n170, ---,-Infinity\r\n",
    )
    assert not found.bad
    expected = [(NAN, 188.0), (NAN, 188.1), (NAN, 188.0), (NAN, 188.2), (NAN, 188.1), (0.0, 188.2),
                (NAN, NAN), (NAN, NAN)]  # fmt: skip
    np.testing.assert_array_equal(found.values, expected)


def test_a_checksum_is_checked() -> None:
    layout = LineFormat(cells=4, values=(3,), time=1, checksum=True)
    found = decode(
        layout,
        b"\n$T,120,P1,3187.4*3D\n$T,130,P1,3189.0*37\n$T,140,P1,3190.7*3E\n$T,150,P1,3190.7\n",
    )
    assert rows(found) == [(120, 3187.4), (140, 3190.7)]
    assert [b.kind for b in found.bad] == [text_line.CHECKSUM] * 2


@pytest.mark.parametrize(
    ("line", "is_good"),
    [
        (b"$T,140,P1,3190.7*3E", True),
        (b"$T,140,P1,3190.7*3e", True),
        (b"$T,141,P1,3190.7*3E", False),
        (b"$T,140,P1,3190.6*3E", False),
        (b"$T,140,P1,3190.7*E3", False),
        (b"$T,140,P1,3190.7*3", False),
        (b"$T,140,P1,3190.7*", False),
        (b"$T,140,P1,3190.7*zz", False),
        (b"$T,140,P1,3190.7*3E9", False),
        (b"$T,140,P1,3190.7", False),
    ],
)
def test_a_line_passes_with_its_own_checksum_only(line: bytes, is_good: bool) -> None:
    layout = LineFormat(cells=4, values=(3,), time=1, checksum=True)
    found = decode(layout, b"\n" + line + b"\n")
    assert rows(found) == ([(140, 3190.7)] if is_good else [])
    assert [b.kind for b in found.bad] == ([] if is_good else [text_line.CHECKSUM])


def test_decimal_commas_semicolons_and_blanks() -> None:
    comma = LineFormat(cells=3, values=(1, 2), time=0, delimiter=";", decimal_comma=True)
    assert rows(decode(comma, b"\n10;187,4;-0,5;\n")) == [(10, 187.4, -0.5)]
    blank = LineFormat(cells=2, values=(1, 0), delimiter="")
    assert rows(decode(blank, b"\n  187.4 \t 188.0 \n")) == [(188.0, 187.4)]


def test_numbers_are_found_between_text() -> None:
    mixed = LineFormat(cells=3, values=(1, 2), time=0, mixed=True)
    found = decode(mixed, b"\nt=120 P1: 187.4 bar, P2: -0.5 bar\nt=130 P1: nan bar, P2: 188 bar\n")
    np.testing.assert_array_equal(found.values, [(187.4, -0.5), (NAN, 188.0)])
    assert rows(found)[0][0] == 120


def test_a_flood_without_line_ends_takes_no_memory_and_ends() -> None:
    decoder = LineDecoder(TIMED)
    bad = [b for _ in range(50) for b in decoder.feed(b"x" * 10_000).bad]
    assert [b.kind for b in bad] == [text_line.FIRST_LINE]
    assert len(bad[0].raw) <= TIMED.max_line
    assert rows(decoder.feed(b"\n10,1,2\n")) == [(10, 1.0, 2.0)]
    bad = [b for _ in range(50) for b in decoder.feed(b"y" * 10_000).bad]
    assert [b.kind for b in bad] == [text_line.TOO_LONG]
    assert rows(decoder.feed(b"\n20,1,2\n")) == [(20, 1.0, 2.0)]


def test_half_a_line_at_the_end_is_no_row() -> None:
    found = decode(TIMED, b"\n10,1,2\n20,187.4,18")
    assert rows(found) == [(10, 1.0, 2.0)]
    assert [(b.kind, b.raw) for b in found.bad] == [(text_line.CUT_OFF, b"20,187.4,18")]


def test_a_layout_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="beyond"):
        LineFormat(cells=2, values=(2,))
    with pytest.raises(ValueError, match="own"):
        LineFormat(cells=2, values=(1, 1))
    with pytest.raises(ValueError, match="comma"):
        LineFormat(cells=2, values=(1,), decimal_comma=True)


numbers = st.floats(allow_nan=False, allow_infinity=False, width=32)
layouts = st.sampled_from(
    [
        TIMED,
        PLAIN,
        LineFormat(3, (2, 0), 1, delimiter=";", decimal_comma=True),
        LineFormat(2, (0, 1), checksum=True),
        LineFormat(3, (0, 1), 2, delimiter="", time_unit_s=1e-6),
        LineFormat(3, (1, 2), 0, mixed=True),
        LineFormat(3, (1, 2), 0, time_unit_s=1.0),
    ]
)


@given(layouts, st.lists(st.tuples(numbers, numbers), max_size=20), st.data())
def test_what_is_encoded_comes_back_however_it_is_cut(
    layout: LineFormat, sent: list[tuple[float, float]], data: st.DataObject
) -> None:
    stream = b"\n" + b"".join(encode_line(layout, pair, n * 0.001) for n, pair in enumerate(sent))
    cuts = sorted(data.draw(st.lists(st.integers(0, len(stream)), max_size=10)))
    pieces = [stream[a:b] for a, b in zip([0, *cuts], [*cuts, len(stream)], strict=True)]
    found = decode(layout, *pieces)
    assert not found.bad
    np.testing.assert_allclose(found.values, np.array(sent).reshape(-1, 2), rtol=1e-9)
    if layout.time is not None:
        np.testing.assert_allclose(_times(found), np.arange(len(sent)) * 0.001, atol=1e-12)


@given(layouts, st.lists(st.binary(max_size=200), max_size=20))
def test_nothing_that_arrives_can_raise_or_be_taken_for_infinite(
    layout: LineFormat, reads: list[bytes]
) -> None:
    found = decode(layout, *reads)
    assert not np.isinf(found.values).any()
    assert sum(len(b.raw) for b in found.bad) <= sum(map(len, reads))


@given(st.text("0123456789.,-+e\r\n nai*$", max_size=300), st.integers(1, 7))
def test_cutting_changes_nothing(text: str, size: int) -> None:
    data = text.encode()
    whole = decode(TIMED, data)
    cut = decode(TIMED, *(data[n : n + size] for n in range(0, len(data), size)))
    np.testing.assert_array_equal(whole.values, cut.values)
    assert [(b.kind, b.raw) for b in whole.bad] == [(b.kind, b.raw) for b in cut.bad]
