"""Machine sheets: what is read, and that every fault is named with its key."""

from __future__ import annotations

import re
import tempfile
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaugebench.errors import SheetError, UnitError
from gaugebench.model.band import parse_band
from gaugebench.model.terms import Sense
from gaugebench.procedure import sheet
from gaugebench.quantity import Dimension

# 1 psi = 6894.757 Pa and 1 kgf/cm² = 98066.5 Pa: NIST SP 811, appendix B.8.
PSI = 6894.757


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("343 bar ± 5 bar", 338e5, 348e5),
        ("343 ± 5 bar", 338e5, 348e5),
        ("34.3 MPa ± 1 %", 33.957e6, 34.643e6),
        ("338 bar to 348 bar", 338e5, 348e5),
        ("338 – 348 bar", 338e5, 348e5),
        ("at least 30 bar", 30e5, None),
        ("≤ 5 bar", None, 5e5),
        ("4975 psi ± 75 psi", 4900 * PSI, 5050 * PSI),
        ("350 kgf/cm² to 355 kgf/cm²", 350 * 98066.5, 355 * 98066.5),
    ],
)
def test_bands(text: str, low: float | None, high: float | None) -> None:
    band = parse_band(text, Dimension.PRESSURE)
    for found, expected in ((band.low, low), (band.high, high)):
        assert (found is None) == (expected is None)
        if expected is not None:
            assert found == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    "text",
    [
        "343",
        "343 ± 5",
        "338 to 348",
        "343 rpm ± 5 rpm",
        "348 bar to 338 bar",
        "5 psia ± 1 psia",
        "",
    ],
)
def test_a_band_without_unit_order_or_gauge_reference_is_refused(text: str) -> None:
    with pytest.raises(UnitError):
        parse_band(text, Dimension.PRESSURE)


def test_a_tolerance_in_fahrenheit_is_a_difference() -> None:
    # 122 °F is 50 °C and a difference of 9 °F is 5 °C: NIST SP 811, appendix B.8.
    band = parse_band("122 °F ± 9 °F", Dimension.TEMPERATURE)
    assert band.low == pytest.approx(45.0)
    assert band.high == pytest.approx(55.0)


@given(st.floats(1, 999), st.floats(0.1, 50))
def test_what_a_band_says_of_itself_reads_back(middle: float, half: float) -> None:
    band = parse_band(f"{middle:.1f} bar ± {half:.1f} bar", Dimension.PRESSURE)
    again = parse_band(band.text(), Dimension.PRESSURE)
    assert again.low == pytest.approx(band.low, abs=1.0)
    assert again.high == pytest.approx(band.high, abs=1.0)


def test_the_shipped_sheets_have_no_fault(tmp_path: Path) -> None:
    invented = sheet.invented()
    assert invented.invented
    assert invented.machine.control is Sense.POSITIVE
    blank = tmp_path / "blank.toml"
    blank.write_text(sheet.blank(), encoding="utf-8")
    assert sheet.check(blank) == []
    # No maker's number ships: the blank's checks hold no band.
    assert all(check.band is None for check in sheet.read(blank).check)


def test_every_example_line_of_the_blank_is_a_key_the_sheet_knows() -> None:
    lines = [ln[2:] if ln.startswith("# ") else ln for ln in sheet.blank().splitlines()]
    start = lines.index("[machine]")
    body = [ln.replace("…", "1") for ln in lines[start:] if re.match(r"\s*(\[|[a-z_]+ = )", ln)]
    data = tomllib.loads("schema = 1\n" + "\n".join(body))
    assert not [f for f in sheet.faults(data) if "not a key" in f]


def _spoiled() -> dict[str, Any]:
    data = sheet.invented_data()
    data["machine"]["control"] = "neg"
    data["screw"][0]["turns_in"] = "1"
    data["check"][0]["band"] = 900
    data["check"][1]["band"] = "1980 ± 50"
    data["check"][2]["figur"] = "steady"
    data["check"][7]["screws"] = ["relif 1"]
    del data["check"][8]["title"]
    data["check"][10]["source"] = ""
    data["check"][11]["measures"] = "pump3.main"
    data["check"][12]["mode"] = "rabbit"
    data["check"][13]["key"] = "low-idle"
    data["travel"]["limit"] = 300
    data["function"][0]["pumps"] = [1, 3]
    data["function"][4]["port_relief"] = "travel lft"
    data["change"][0]["read_again"] = ["pump1-cutoff"]
    return data


def test_every_fault_is_named_with_its_key() -> None:
    found = sheet.faults(_spoiled())
    for key, word in [
        ("machine.control", "negative"),
        ("screw[1].turns_in", "number"),
        ("check[1].band", "unit"),
        ("check[2].band", "unit"),
        ("check[3].figur", "not a key"),
        ("check[8].screws[1]", "did you mean “relief 1”"),
        ("check[9].title", "missing"),
        ("check[11].source", "where the number is from"),
        ("check[12].measures", "number 3"),
        ("check[13].mode", "machine.modes"),
        ("check[14].key", "twice"),
        ("travel.limit", "unit"),
        ("function[1].pumps[2]", "number 3"),
        ("function[5].port_relief", "did you mean “travel left”"),
        ("change[1].read_again[1]", "did you mean “pump1-cut-off”"),
    ]:
        (line,) = [f for f in found if f.startswith(f"{key}: ")]
        assert word in line
    assert len(found) == 15


def test_a_sheet_that_is_no_toml_or_not_there(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    assert "cannot be read" in sheet.check(path)[0]
    path.write_text("schema = 1\nx = = 2\n", encoding="utf-8")
    assert "is not TOML" in sheet.check(path)[0]
    assert "line 2" in sheet.check(path)[0]
    path.write_bytes(b"\xff\xfe\x00")
    assert "UTF-8" in sheet.check(path)[0]
    path.write_text("schema = 1\n[[check]]\n", encoding="utf-8")
    with pytest.raises(SheetError, match=r"machine: is missing\. \(and \d+ more"):
        sheet.read(path)


_tree = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=8,
)


@given(st.dictionaries(st.sampled_from([*sheet.invented_data(), "other"]), _tree))
def test_no_tree_of_values_breaks_the_reading(data: dict[str, Any]) -> None:
    found = sheet.faults(data)
    assert found, "a random tree is never a whole sheet"
    assert all(": " in f and f.endswith(".") for f in found)


ANYTHING = st.recursive(
    st.one_of(
        st.text(max_size=12), st.integers(), st.floats(), st.booleans(), st.dates(), st.times(),
        st.datetimes(), st.sampled_from(["343 bar", "relief", "pump1.main", "at most 8 bar", "0"]),
        st.sampled_from([10**400, -(2**70), float("nan"), float("inf")]),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.sampled_from(["name", "key", "band", "x y"]), inner, max_size=3),
    ),
    max_leaves=6,
)  # fmt: skip
"""Whatever TOML can say: https://toml.io/en/v1.0.0"""
PART = r'(?:[A-Za-z0-9_-]+|"(?:[^"\\]|\\.)*")(?:\[\d+\])*'
KEYED = re.compile(rf"{PART}(?:\.{PART})*: .+\.", re.DOTALL)


def _places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    rows = (
        value.items() if isinstance(value, dict)
        else enumerate(value) if isinstance(value, list) else ()
    )  # fmt: skip
    return [path, *(p for key, inner in rows for p in _places(inner, (*path, key)))]


@settings(max_examples=60)
@given(st.data())
def test_whatever_stands_in_a_sheet_its_faults_are_named_by_key(data: st.DataObject) -> None:
    written = sheet.invented_data()
    for _ in range(data.draw(st.integers(1, 3))):
        place = data.draw(st.sampled_from(_places(written)[1:]))
        inner: Any = written
        for key in place[:-1]:
            inner = inner[key]
        if data.draw(st.booleans()):
            inner[place[-1]] = data.draw(ANYTHING)
        else:
            del inner[place[-1]]
    found = sheet.faults(written)
    for fault in found:
        assert KEYED.fullmatch(fault), fault
    if found:
        with pytest.raises(SheetError):
            sheet.parse(written)
    else:
        assert sheet.parse(written).check


@given(st.dictionaries(st.text(max_size=6), ANYTHING, max_size=4))
def test_any_toml_gives_named_faults_and_never_a_trace_of_the_program(data: dict[str, Any]) -> None:
    found = sheet.faults(data)
    assert found
    assert all(KEYED.fullmatch(fault) for fault in found)


@given(st.binary(max_size=80))
def test_any_bytes_are_refused_in_a_sentence(content: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "sheet.toml"
        path.write_bytes(content)
        assert sheet.check(path)


@pytest.mark.parametrize("text", ["a = " + "[" * 3000, "a = " + "9" * 5000, 'a = "\\ud800"'])
def test_toml_that_no_reader_takes_is_refused_in_a_sentence(tmp_path: Path, text: str) -> None:
    path = tmp_path / "sheet.toml"
    path.write_text(text, encoding="utf-8")
    assert all(fault.endswith(".") for fault in sheet.check(path))
    with pytest.raises(SheetError):
        sheet.read(path)
