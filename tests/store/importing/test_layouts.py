"""Separators, decimal marks, preambles, headers, units and encodings of other loggers' files.

The kinds of file are those that people in the field reported; the lines are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from gaugebench.errors import TraceError, UnitError
from gaugebench.model.trace import Trace
from gaugebench.quantity import Dimension, Reference

Columns = dict[str, tuple[list[float], list[float], str]]

# --- separators and decimal marks

SEPARATED: list[tuple[str, Columns]] = [
    (  # a header and clock times that fool a look at the first row; a trailing separator
        "Zeit;P1 bar;P2 bar\n0:00,0;187,4;188,0;\n0:00,1;187,5;188,1;\n",
        {
            "P1 bar": ([0.0, 0.1], [187.4, 187.5], "bar"),
            "P2 bar": ([0.0, 0.1], [188.0, 188.1], "bar"),
        },
    ),
    (
        "Time [s]\tP1 [bar]\n0,00\t1.234,5\n0,01\t1.235,5\n0,02\t999,5\n",
        {"P1": ([0.0, 0.01, 0.02], [1234.5, 1235.5, 999.5], "bar")},
    ),
    (
        "t [s];P1 [kPa]\n0.00;1'234.5\n0.01;12'235.5\n0.02;999.5\n",
        {"P1": ([0.0, 0.01, 0.02], [1234.5, 12235.5, 999.5], "kPa")},
    ),
    (
        "t [s];P1 [kPa]\n0,00;1 234,5\n0,01;12 235,5\n",
        {"P1": ([0.0, 0.01], [1234.5, 12235.5], "kPa")},
    ),
    (
        't [s],P1 [bar]\n"0,00","187,4"\n"0,01","187,5"\n',
        {"P1": ([0.0, 0.01], [187.4, 187.5], "bar")},
    ),
    (
        't [s],P1 [psi]\n0.00,"2,718.5"\n0.01,"2,719.5"\n',
        {"P1": ([0.0, 0.01], [2718.5, 2719.5], "psi")},
    ),
    ("t [s]|P1 [bar]\n0.0|1\n0.1|2\n", {"P1": ([0.0, 0.1], [1.0, 2.0], "bar")}),
    (
        "time(s),P1(psig)\n  0.00   10.2\n  0.02   -1.5e1\n",
        {"P1": ([0.0, 0.02], [10.2, -15.0], "psig")},
    ),
    ("t [ms],P1 [bar]\n0,+1\n10,.5\n", {"P1": ([0.0, 0.01], [1.0, 0.5], "bar")}),
]


@pytest.mark.parametrize(("text", "expected"), SEPARATED)
def test_separators_and_marks(
    read: Callable[..., Trace], columns: Callable[[Trace], Columns], text: str, expected: Columns
) -> None:
    assert columns(read(text)) == expected


@pytest.mark.parametrize(
    ("text", "flag"),
    [
        ("t [s];P1 bar\n1;173,900\n2;173,901\n", "--decimal ,"),
        ("t [s];P1 bar\n1.000;173.900\n2.000;174.900\n", "--decimal ."),
        ("t [s]\tP1 bar\n1\t2,500\n2\t-12,500\n", "--decimal ,"),
        ("t [s]|P1 bar\n1|2,500\n2|3,125\n", "--decimal ,"),
        ("t [s];P1 bar;P2 bar\n1;1,000;2\n2;2,000;3\n", "--decimal ,"),
    ],
)
def test_a_mark_that_may_be_either_is_asked(
    asked: Callable[..., str], read: Callable[..., Trace], text: str, flag: str
) -> None:
    assert flag in asked(text)
    mark = flag[-1]
    decimal = read(text, decimal=mark).series[0].raw
    assert decimal is not None
    assert decimal[0] < 174
    other = "." if mark == "," else ","
    grouped = read(text, decimal=other, thousands=mark).series[0].raw
    assert grouped is not None
    np_first = float(grouped[0])
    assert np_first == pytest.approx(decimal[0] * 1000)


@pytest.mark.parametrize("cell", ["0,187", "1234,500", "173,9", "17,39"])
def test_one_cell_settles_the_mark_for_all(read: Callable[..., Trace], cell: str) -> None:
    found = read(f"t [s];P1 bar\n1;173,900\n2;{cell}\n").series[0].raw
    assert found is not None
    assert found.tolist() == [173.9, float(cell.replace(",", "."))]


# --- preamble, header, units row

HEADED: list[tuple[str, Columns, str]] = [
    (
        (
            "Job;4711\nNote;cold start, P2 noisy\n\nt;P1;P2;Toil\ns;bar;MPa;°C\n;avg;avg;avg\n"
            "0,00;187,4;18,80;51\n"
        ),
        {
            "P1": ([0.0], [187.4], "bar"),
            "P2": ([0.0], [18.8], "MPa"),
            "Toil": ([0.0], [51.0], "°C"),
        },
        "Job;4711\nNote;cold start, P2 noisy",
    ),
    (
        "Logger X\nt,P1,P2\n[s],[bar],[MPa]\n0,1,2\n1,1,2\n",
        {"P1": ([0.0, 1.0], [1.0, 1.0], "bar"), "P2": ([0.0, 1.0], [2.0, 2.0], "MPa")},
        "Logger X",
    ),
    (
        "# machine 7\n# operator Ann\ntime_s,P1_bar\n0,1\n1,2\n",
        {"P1_bar": ([0.0, 1.0], [1.0, 2.0], "bar")},
        "machine 7\noperator Ann",
    ),
    (
        "Job;4711\nTester;Ann\n\nTime;P1\ns;bar\n0,00;187,4\n0,01;187,5\n",
        {"P1": ([0.0, 0.01], [187.4, 187.5], "bar")},
        "Job;4711\nTester;Ann",
    ),
    (
        "Job;4711\nTime [s];P1 [bar]\n0,00;187,4\n0,01;187,5\n",
        {"P1": ([0.0, 0.01], [187.4, 187.5], "bar")},
        "Job;4711",
    ),
    (
        "Messung 4\n;Druck 1;Druck 2\ns;bar;bar\n0,0;1;2\n0,1;1;2\n",
        {"Druck 1": ([0.0, 0.1], [1.0, 1.0], "bar"), "Druck 2": ([0.0, 0.1], [2.0, 2.0], "bar")},
        "Messung 4",
    ),
    (
        "".join(f"line {i};x\n" for i in range(40)) + "\nt [s];P1 [bar]\n0,0;1\n0,1;2\n",
        {"P1": ([0.0, 0.1], [1.0, 2.0], "bar")},
        "\n".join(f"line {i};x" for i in range(40)),
    ),
]


@pytest.mark.parametrize(("text", "expected", "notes"), HEADED)
def test_preambles_headers_and_units_rows(
    read: Callable[..., Trace],
    columns: Callable[[Trace], Columns],
    text: str,
    expected: Columns,
    notes: str,
) -> None:
    trace = read(text)
    assert columns(trace) == expected
    assert trace.particulars.notes == notes


def test_no_unit_anywhere_is_asked_and_nothing_taken_for_bar(
    asked: Callable[..., str], read: Callable[..., Trace]
) -> None:
    text = "t [s];P1;P2\n0,00;187,4;18,8\n0,01;187,4;18,8\n"
    said = asked(text)
    assert "--unit-of P1=bar --unit-of P2=bar" in said
    trace = read(text, units={"P1": "bar", "P2": "MPa"})
    np_values = [float(s.values[0]) for s in trace.series]
    assert np_values == pytest.approx([187.4e5, 18.8e6])  # 1 bar is 10⁵ Pa (SI brochure, table 8)


def test_a_unit_that_is_not_known_is_kept_as_it_is(read: Callable[..., Trace]) -> None:
    (force,) = read("t [s],Force (lbs)\n0,1\n1,2\n").series
    assert (force.channel.dimension, force.channel.raw_unit) == (Dimension.OTHER, "lbs")
    assert force.values.tolist() == [1.0, 2.0]


@pytest.mark.parametrize(
    ("heading", "unit", "reference"),
    [
        ("P1 (psig)", "psig", Reference.GAUGE),
        ("P1 [psia]", "psia", Reference.ABSOLUTE),
        ("P1 [bar(g)]", "bar(g)", Reference.GAUGE),
        ("P1 [bar(a)]", "bar(a)", Reference.ABSOLUTE),
        ("P1 / bar", "bar", None),
        ("P1 in MPa", "MPa", None),
        ("P1, psig", "psig", Reference.GAUGE),
        ("P1_kPa", "kPa", None),
    ],
)
def test_a_reference_is_part_of_the_unit(
    read: Callable[..., Trace], heading: str, unit: str, reference: Reference | None
) -> None:
    (series,) = read(f"t [s];{heading}\n0;1\n1;2\n", roles={"P1": "pump1.main"}).series
    assert series.channel.raw_unit == unit
    assert series.channel.reference is reference
    assert str(series.channel.role) == "pump1.main"


def test_a_role_and_unit_in_the_heading_need_nothing_more(read: Callable[..., Trace]) -> None:
    text = "time [s],pump1.main [MPa],engine.speed [rpm]\n0,1.5,1800\n0.1,2,1801\n"
    main, speed = read(text).series
    assert str(main.channel.role) == "pump1.main"
    assert main.values.tolist() == [1.5e6, 2e6]
    assert speed.channel.dimension is Dimension.SPEED


@pytest.mark.parametrize(
    ("flags", "fault", "words"),
    [
        ({"roles": {"Q": "pump1.main"}}, TraceError, "no column “Q”; it has time, P1"),
        ({"roles": {"P1": "pump9"}}, UnitError, "is not a role"),
        ({"roles": {"P1": "engine.speed"}}, UnitError, "is in bar, but engine.speed is a speed"),
        ({"units": {"P1": "furlong/x"}}, UnitError, "furlong"),
        ({"decimal": ";"}, TraceError, "decimal"),
        ({"colour": "red"}, TraceError, "colour"),
        ({"time_column": "Q"}, TraceError, "no column “Q”"),
        ({"encoding": "utf-99"}, TraceError, "is not an encoding"),
    ],
)
def test_a_flag_that_makes_no_sense_is_told(
    read: Callable[..., Trace], flags: dict[str, Any], fault: type[Exception], words: str
) -> None:
    with pytest.raises(fault, match=words):
        read("time [s];P1 [bar]\n0;1\n1;2\n", **flags)


# --- encodings

TABLE = '"time_s","P1_psi"\r\n0.00,2718\r\n0.01,2719\r\n'


@pytest.mark.parametrize(
    "content",
    [
        TABLE.encode(),
        b"\xef\xbb\xbf" + TABLE.encode(),
        b"\xff\xfe" + TABLE.encode("utf-16-le"),
        b"\xfe\xff" + TABLE.encode("utf-16-be"),
        TABLE.encode("utf-16-le"),
        TABLE.encode("utf-16-be"),
        b"\xff\xfe\x00\x00" + TABLE.encode("utf-32-le"),
        TABLE.replace("\r\n", "\r").encode(),
        TABLE.replace("\r\n", "\n").encode(),
        b"\xef\xbb\xbf#" + TABLE.replace('"', "").encode(),
    ],
)
def test_marks_line_ends_and_encodings_read_the_same(
    read: Callable[..., Trace], columns: Callable[[Trace], Columns], content: bytes
) -> None:
    trace = read(content)
    assert columns(trace) == {"P1_psi": ([0.0, 0.01], [2718.0, 2719.0], "psi")}
    assert trace.recipe["time_column"] == "time_s"


@pytest.mark.parametrize("header", ["P1_psi,P2_psi", "P1_psi,P2_psi,", "a_bar,b_bar"])
def test_without_a_time_column_nothing_is_made_up(read: Callable[..., Trace], header: str) -> None:
    with pytest.raises(TraceError, match=r"no column that is called a time .*--time-column"):
        read(f"{header}\n1,2\n2,3\n")


@pytest.mark.parametrize(
    ("unit", "expected"),
    [
        (b"\xb0C", 51.0),
        (b"\xc2\xb0C", 51.0),
        ("Â°C".encode(), 51.0),
        (b"degC", 51.0),
        (b"\xb0F", (51.0 - 32) / 1.8),  # °F by its definition (NIST SP 811, B.8)
        (b"Celsius", 51.0),
        ("℃".encode(), None),
    ],
)
def test_the_degree_sign_however_written(
    read: Callable[..., Trace], unit: bytes, expected: float | None
) -> None:
    pressure, oil = read(b"t [s];P1 (bar);T (" + unit + b")\n0,5;1,5;51\n1,0;1,6;52\n").series
    assert oil.channel.name == "T"
    assert pressure.channel.name == "P1"
    if expected is None:
        assert oil.channel.dimension is Dimension.OTHER
    else:
        assert oil.channel.dimension is Dimension.TEMPERATURE
        assert oil.values[0] == pytest.approx(expected)


@pytest.mark.parametrize("unit", [b"\xc4C", b"\xf8C", b"?C", b"\xef\xbf\xbdC", b"??C", b"\xa1F"])
def test_a_damaged_degree_sign_is_asked(
    asked: Callable[..., str], read: Callable[..., Trace], unit: bytes
) -> None:
    text = b"t [s];P1 (bar);T (" + unit + b")\n0,5;1,5;51\n1,0;1,6;52\n"
    said = asked(text)
    assert "looks like a temperature" in said
    assert "--unit-of 'T=°C'" in said or "--unit-of T=°C" in said
    oil = read(text, units={"T": "°C"}).series[1]
    assert oil.values.tolist() == [51.0, 52.0]
