"""The kinds of file that people in the field reported, each with at least five more of its kind.

The reported cases themselves and further ones stand where their part of the importer is tested:

| kind | its own case | more |
|---|---|---|
| T1 separators, decimal marks | `test_layouts` SEPARATED, `a_mark_that_may_be_either` | `T1` |
| T2 preamble, header, units row | `test_layouts` HEADED, `no_unit_anywhere` | `T2` |
| T3 byte order marks | `test_layouts` `marks_line_ends`, `without_a_time_column` | `T3` |
| T4 day and month | `test_times` `the_order_of_a_date`, `fits_both_orders` | `T4` |
| T5 stamps coarser than the rows | `test_times` `rows_that_share`, `true_duplicates` | `T5` |
| T6 several rates in one file | `test_times` RATES | `T6` |
| T7 power lost | `test_damage` `a_half_last_row`, BAD | `T7` |
| T8 degree sign, encodings | `test_layouts` `the_degree_sign`, `a_damaged_degree_sign` | `T8` |

The kinds that concern what a device sends (L2, L3, L7, L8) and must be in the record as well are in
`tests/store/test_record_kinds.py`; all of L are tests of the drivers and of the acquisition.
All lines here are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

import numpy as np
import pytest

from gaugebench.errors import TraceError
from gaugebench.model.quality import Quality
from gaugebench.model.trace import Trace
from gaugebench.quantity import Dimension

Read = Callable[..., Trace]
Rows = dict[str, tuple[list[float], list[float]]]


def _rows(trace: Trace) -> Rows:
    found: Rows = {}
    for one in trace.series:
        assert one.raw is not None
        found[one.channel.name] = (np.round(one.times, 6).tolist(), one.raw.tolist())
    return found


T1: dict[str, tuple[str, Rows]] = {
    "negative numbers with a decimal comma": (
        "Zeit (s);Druck (bar)\n0,0;-0,4\n0,1;0,4\n",
        {"Druck": ([0.0, 0.1], [-0.4, 0.4])},
    ),
    "semicolons in a heading between commas": (
        "time [s],P1; left [bar],P2 [bar]\n0.0,1.5,2.5\n0.1,1.6,2.6\n",
        {"P1; left": ([0.0, 0.1], [1.5, 1.6]), "P2": ([0.0, 0.1], [2.5, 2.6])},
    ),
    "clock with a decimal comma between tabs": (
        "Zeit\tP1 bar\n0:00:00,0\t187,4\n0:00:00,5\t187,5\n",
        {"P1 bar": ([0.0, 0.5], [187.4, 187.5])},
    ),
    "a separator before the first cell": (
        ";t [s];P1 [bar]\n;0,0;1,5\n;0,1;1,6\n",
        {"P1": ([0.0, 0.1], [1.5, 1.6])},
    ),
    "exponents with a decimal comma": (
        "t [s];P1 [bar]\n0,0;1,5E+02\n0,1;1,6e2\n",
        {"P1": ([0.0, 0.1], [150.0, 160.0])},
    ),
    "a leading nought settles three digits": (
        "t [s];P1 [bar]\n0,000;173,900\n0,010;173,950\n",
        {"P1": ([0.0, 0.01], [173.9, 173.95])},
    ),
    "colons in headings and cells": (
        "Zeit: Lauf 2;P1: bar\n0:01,0;1,5\n0:01,1;1,6\n",
        {"P1: bar": ([1.0, 1.1], [1.5, 1.6])},
    ),
    "whole numbers beside decimal commas": (
        "t [s];P1 [bar];P2 [bar]\r\n0,0;1;2,5\r\n0,1;1;3\r\n",
        {"P1": ([0.0, 0.1], [1.0, 1.0]), "P2": ([0.0, 0.1], [2.5, 3.0])},
    ),
}


@pytest.mark.parametrize(("text", "expected"), T1.values(), ids=T1)
def test_separators_and_decimal_marks(read: Read, text: str, expected: Rows) -> None:
    assert _rows(read(text)) == expected


TWO: Rows = {"P1": ([0.0, 1.0], [1.0, 2.0]), "P2": ([0.0, 1.0], [2.0, 3.0])}
DATA = "0;1;2\n1;2;3\n"
T2: dict[str, tuple[str, str]] = {
    "units in round brackets": ("Bench 4\nt;P1;P2\n(s);(bar);(MPa)\n" + DATA, "Bench 4"),
    "a row of statistics with a word for time": (
        "t;P1;P2\ns;bar;bar\nmin;min;max\n" + DATA, ""
    ),
    "a preamble of sentences with numbers": (
        "Serial number 12345\nRate 100 Hz\n\nt [s];P1 [bar];P2 [bar]\n" + DATA,
        "Serial number 12345\nRate 100 Hz",
    ),
    "a preamble as wide as the table": (
        "Channel;1;2\nt;P1;P2\ns;bar;bar\n" + DATA, "Channel;1;2"
    ),
    "a preamble with a date and a clock": (
        "Date;05.04.2025\nTime;08:00:00\n\nt [s];P1 [bar];P2 [bar]\n" + DATA,
        "Date;05.04.2025\nTime;08:00:00",
    ),
    "dashes for statistics": ("t;P1;P2\ns;bar;bar\n-;avg;max\n" + DATA, ""),
}  # fmt: skip


@pytest.mark.parametrize(("text", "notes"), T2.values(), ids=T2)
def test_preambles_and_units_rows(read: Read, text: str, notes: str) -> None:
    trace = read(text)
    assert _rows(trace) == TWO
    assert {s.channel.dimension for s in trace.series} == {Dimension.PRESSURE}
    assert trace.particulars.notes == notes


def test_a_units_row_with_a_hole_is_asked_for_that_column_alone(
    asked: Callable[..., str], read: Read
) -> None:
    text = "t;P1;P2\ns;bar;\n" + DATA
    said = asked(text)
    assert "--unit-of P2=bar" in said
    assert "P1=" not in said
    assert _rows(read(text, units={"P2": "MPa"})) == TWO


def test_a_heading_that_comes_again_is_no_sample(read: Read) -> None:
    trace = read("t [s];P1 [bar]\n0;1\n1;2\nt [s];P1 [bar]\n2;3\n")
    assert _rows(trace) == {"P1": ([0.0, 1.0, 2.0], [1.0, 2.0, 3.0])}
    assert trace.rejects["no time"] == 1


TABLE = "time_s{0}P1_psi\r\n0{1}00{0}2718\r\n0{1}01{0}2719\r\n"
T3: dict[str, bytes] = {
    "a spreadsheet's word for the separator": "\ufeffsep=;\r\n".encode()
    + TABLE.format(";", ",").encode(),
    "the same without a mark": b"sep=,\r\n" + TABLE.format(",", ".").encode(),
    "two marks": ("\ufeff\ufeff" + TABLE.format(",", ".")).encode(),
    "a hard blank before the name": ("\xa0" + TABLE.format(" ,  ", ".")).encode(),
    "16 bits and tabs": b"\xff\xfe" + TABLE.format("\t", ",").encode("utf-16-le"),
    "empty lines behind the mark": b"\xef\xbb\xbf\r\n\r\n" + TABLE.format(",", ".").encode(),
    "capitals and old line ends": b"\xef\xbb\xbf"
    + TABLE.format(",", ".").upper().replace("\r\n", "\r").encode(),
}


@pytest.mark.parametrize("content", T3.values(), ids=T3)
def test_marks_before_the_first_name(read: Read, content: bytes) -> None:
    (series,) = read(content).series
    assert series.raw is not None
    assert (series.channel.name.lower(), series.channel.raw_unit) == ("p1_psi", "psi")
    assert (series.times.tolist(), series.raw.tolist()) == ([0.0, 0.01], [2718.0, 2719.0])


@pytest.mark.parametrize(
    "header", ["Druck [bar];Temp [°C]", "P1 [bar];P2 [bar]", "a;b", "pressure;speed", "1st;2nd"]
)
def test_a_time_that_is_not_there_is_never_made_up(read: Read, header: str) -> None:
    with pytest.raises(TraceError, match="--time-column"):
        read(f"{header}\n1;2\n2;3\n")


T4: dict[str, tuple[str, str, str]] = {
    "short day and year": ("5.4.25 8:00:00", "5.4.25 8:00:01", "2025-04-05T08:00:00"),
    "a month in letters": ("05-Apr-2025 08:00:00", "05-Apr-2025 08:00:01", "2025-04-05T08:00:00"),
    "a month in letters first": (
        "Apr 05, 2025 08:00:00 PM", "Apr 05, 2025 08:00:01 PM", "2025-04-05T20:00:00"
    ),
    "a German month": ("5. März 2025 08:00:00", "5. März 2025 08:00:01", "2025-03-05T08:00:00"),
    "a year first, then letters": (
        "2025-Oct-05 08:00:00.5", "2025-Oct-05 08:00:01.5", "2025-10-05T08:00:00.500"
    ),
    "over the new year, day first": (
        "31/12/2024 23:59:59", "01/01/2025 00:00:00", "2024-12-31T23:59:59"
    ),
    "over the new year, month first": (
        "12/31/2024 23:59:59", "01/01/2025 00:00:00", "2024-12-31T23:59:59"
    ),
    "a leap day": ("29/02/2024 08:00:00", "29/02/2024 08:00:01", "2024-02-29T08:00:00"),
    "a comma behind the date": (
        "05.04.2025, 08:00:00", "05.04.2025, 08:00:01", "2025-04-05T08:00:00"
    ),
}  # fmt: skip


@pytest.mark.parametrize(("one", "two", "started"), T4.values(), ids=T4)
def test_one_order_of_day_and_month(read: Read, one: str, two: str, started: str) -> None:
    trace = read(f"time;P1 [bar]\n{one};1\n{two};2\n")
    assert trace.started == datetime.fromisoformat(started)
    assert _rows(trace) == {"P1": ([0.0, 1.0], [1.0, 2.0])}


def test_a_date_apart_that_fits_both_orders_is_asked_too(asked: Callable[..., str]) -> None:
    text = "Date;Clock;P1 [bar]\n03/04/2025;08:00:00;1\n03/04/2025;08:00:01;2\n"
    assert "dmy: 2025-04-03 or mdy: 2025-03-04" in asked(text)


def test_a_day_that_is_not_in_the_calendar_is_no_row(read: Read) -> None:
    with pytest.raises(TraceError, match="holds no row that can be read"):
        read("time;P1 [bar]\n30/02/2025 08:00:00;1\n30/02/2025 08:00:01;2\n")


def _per_second(stamps: list[str], heading: str = "time") -> str:
    return f"{heading};P1 [bar]\n" + "".join(f"{s};{n}\n" for n, s in enumerate(stamps))


T5: dict[str, tuple[str, list[float]]] = {
    "seconds that begin late and stop early": (
        _per_second(["08:00:00"] * 3 + ["08:00:01"] * 5 + ["08:00:02"] * 5 + ["08:00:03"]),
        [0.4, 0.6, 0.8, *(1 + n / 5 for n in range(10)), 3.0],
    ),
    "stamps with a zone": (
        _per_second(["2025-04-05T08:00:00Z"] * 4 + ["2025-04-05T08:00:01Z"] * 4),
        [n / 4 for n in range(8)],
    ),
    "over midnight": (
        _per_second(["23:59:59"] * 4 + ["00:00:00"] * 4), [n / 4 for n in range(8)]
    ),
    "whole seconds as numbers": (
        _per_second([str(n // 4) for n in range(12)], "time [s]"), [n / 4 for n in range(12)]
    ),
    "whole seconds since 1970": (
        _per_second([str(1_743_753_600 + n // 4) for n in range(12)], "time [epoch-s]"),
        [n / 4 for n in range(12)],
    ),
    "whole tens of milliseconds as numbers": (
        _per_second([str(10 * (n // 5)) for n in range(20)], "time [ms]"),
        [0.002 * n for n in range(20)],
    ),
}  # fmt: skip


@pytest.mark.parametrize(("text", "times"), T5.values(), ids=T5)
def test_rows_that_share_a_stamp(read: Read, text: str, times: list[float]) -> None:
    trace = read(text)
    (series,) = trace.series
    assert series.raw is not None
    assert series.times.tolist() == pytest.approx(times)
    assert series.raw.tolist() == [float(n) for n in range(len(times))]
    assert (series.quality & Quality.TIME_ESTIMATED).all()
    assert any("estimated" in r for r in trace.remarks)


@pytest.mark.parametrize(
    "text",
    [
        "time [s];P1 [bar];P2 [bar]\n" + "".join(f"{n // 2};{n // 2};7\n" for n in range(12)),
        "time [s];P1 [bar];P2 [bar]\n" + "".join(f"{n};{n};\n{n};;{n}\n" for n in range(6)),
    ],
    ids=["rows written twice", "columns that take turns"],
)
def test_rows_that_share_a_time_for_another_reason_are_not_spread(read: Read, text: str) -> None:
    trace = read(text)
    for series in trace.series:
        assert set(series.times.tolist()) == {float(n) for n in range(6)}
        assert not (series.quality & Quality.TIME_ESTIMATED).any()


T6: dict[str, tuple[str, Rows]] = {
    "blanks for no sample": (
        "t [s];P1 [bar];T [°C]\n0,0;1,5;50\n0,1;1,6; \n0,2;1,7; \n0,3;1,8;51\n",
        {"P1": ([0.0, 0.1, 0.2, 0.3], [1.5, 1.6, 1.7, 1.8]), "T": ([0.0, 0.3], [50.0, 51.0])},
    ),
    "noughts are samples": (
        "t [s],P1 [bar],rpm\n0.0,1.5,0\n0.1,1.6,\n0.2,1.7,\n0.3,1.8,0\n",
        {"P1": ([0.0, 0.1, 0.2, 0.3], [1.5, 1.6, 1.7, 1.8]), "rpm": ([0.0, 0.3], [0.0, 0.0])},
    ),
    "the slow one comes first": (
        "t [s],P1 [bar],T [°C]\n0.0,,51\n0.1,1.5,\n0.2,1.6,\n0.3,1.7,\n",
        {"P1": ([0.1, 0.2, 0.3], [1.5, 1.6, 1.7]), "T": ([0.0], [51.0])},
    ),
    "empty quotes": (
        't [s],P1 [bar],T [°C]\n0.0,1,""\n0.1,2,""\n0.2,3,51\n0.3,4,""\n',
        {"P1": ([0.0, 0.1, 0.2, 0.3], [1.0, 2.0, 3.0, 4.0]), "T": ([0.2], [51.0])},
    ),
    "three rates": (
        "t [s],P1 [bar],B [rpm],C [°C]\n"
        + "".join(f"{n},{n},{'' if n % 3 else n},{'' if n % 5 else n}\n" for n in range(16)),
        {
            "P1": ([float(n) for n in range(16)], [float(n) for n in range(16)]),
            "B": ([0.0, 3.0, 6.0, 9.0, 12.0, 15.0], [0.0, 3.0, 6.0, 9.0, 12.0, 15.0]),
            "C": ([0.0, 5.0, 10.0, 15.0], [0.0, 5.0, 10.0, 15.0]),
        },
    ),
}


@pytest.mark.parametrize(("text", "expected"), T6.values(), ids=T6)
def test_series_of_their_own_rates(read: Read, text: str, expected: Rows) -> None:
    trace = read(text)
    assert _rows(trace) == expected
    for series in trace.series:
        assert not np.isnan(series.values).any()


WHOLE = b"t [s],P1 [bar]\n0.00,187.4\n0.01,187.5\n"
T7: dict[str, tuple[bytes, str]] = {
    "an end mark of old systems": (WHOLE + b"\x1a", "ends mid-row; 1 bytes"),
    "cut in the time": (WHOLE + b"0.0", "ends mid-row; 3 bytes"),
    "cut between two bytes of a sign": (
        (WHOLE + b"0.02,18").decode().encode("utf-16-le")[:-1], "ends mid-row; 12 bytes"
    ),
    "erased flash": (WHOLE + b"\xff" * 512, "ends mid-row; 512 bytes"),
    "empty lines and NUL bytes": (WHOLE + b"\n\n" + bytes(9), "9 NUL bytes"),
    "a digit and NUL bytes": (WHOLE + b"0.02,1" + bytes(4000), "ends mid-row; 4006 bytes"),
}  # fmt: skip


@pytest.mark.parametrize(("content", "told"), T7.values(), ids=T7)
def test_what_lost_power_leaves(read: Read, content: bytes, told: str) -> None:
    trace = read(content)
    assert _rows(trace) == {"P1": ([0.0, 0.01], [187.4, 187.5])}
    assert any(told in r for r in trace.remarks), trace.remarks


def test_a_hole_of_nul_bytes_in_the_middle_costs_its_row(read: Read) -> None:
    trace = read(WHOLE + bytes(512) + b"0.03,187.6\n0.04,187.7\n")
    assert _rows(trace) == {"P1": ([0.0, 0.01, 0.04], [187.4, 187.5, 187.7])}
    assert trace.rejects == {"NUL bytes": 1}


T8: dict[str, tuple[bytes, Dimension | None]] = {
    "deg with a blank": (b"deg C", Dimension.TEMPERATURE),
    "deg with a dot": (b"deg. C", Dimension.TEMPERATURE),
    "a blank behind the sign": ("° C".encode(), Dimension.TEMPERATURE),
    "in capitals": (b"DEGC", Dimension.TEMPERATURE),
    "kelvin": (b"K", Dimension.TEMPERATURE),
    "the letter o": (b"oC", None),
    "a raised o in another place": ("ºC".encode(), None),
    "the sign of an old system": (b"\xf8C", None),
    "the sign of a web page, cut": (b"&deg", None),
}


@pytest.mark.parametrize(("unit", "dimension"), T8.values(), ids=T8)
def test_degree_signs(
    read: Read, asked: Callable[..., str], unit: bytes, dimension: Dimension | None
) -> None:
    text = b"t [s];P1 (bar);T (" + unit + b")\n0,5;1,5;51\n1,0;1,6;52\n"
    flags: dict[str, Any] = {}
    if dimension is None:
        assert "looks like a temperature" in asked(text)
        flags = {"units": {"T": "°C"}}
    _, oil = read(text, **flags).series
    assert oil.channel.name == "T"
    assert oil.channel.dimension is Dimension.TEMPERATURE
    assert oil.values[0] == pytest.approx(51.0 - 273.15 if unit == b"K" else 51.0)


@pytest.mark.parametrize("spelt", ["Öldruck", "Pression d'huile à gauche", "Druck_²", "Nº 4"])
@pytest.mark.parametrize("encoding", ["utf-8", "cp1252", "utf-16"])
def test_names_are_kept_in_any_encoding(read: Read, spelt: str, encoding: str) -> None:
    text = f"t [s];{spelt} (bar);Q (m³/h)\n0,5;1,5;3\n1,0;1,6;4\n"
    pressure, flow = read(text.encode(encoding)).series
    assert pressure.channel.name == spelt
    assert flow.channel.dimension is Dimension.FLOW
    assert flow.values[0] == pytest.approx(3 / 3600)
