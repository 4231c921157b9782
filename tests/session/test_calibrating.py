"""A calibration table by the command, against a published one and by hand."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from gaugebench.cli.app import app
from gaugebench.errors import KitError
from gaugebench.session.calibrating import calibrated, read_table

# R. Kessel, R. N. Kacker, K.-D. Sommer, “Uncertainty budget for range calibration”, Measurement 45
# (2012) 1661–1669, Table 4: applied pressures and the sensor's readings
KESSEL = """applied,up
0,.0000
2,.2039
4,.4080
6,.6120
8,.8160
10,1.0201
12,1.2242
14,1.4283
16,1.6325
18,1.8367
20,2.0410
"""
CYCLES = """applied,up,down,up,down
0,0.1,0.3,0.0,0.1

100,100.2,101.0,100.6,101.2
200,200.1,200.1,200.1,200.1
"""


def put(folder: Path, text: str) -> Path:
    path = folder / "table.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_published_table_gives_its_terminal_line(tmp_path: Path) -> None:
    found = calibrated(read_table(put(tmp_path, KESSEL)))
    terminal = found.curves[0]
    # The paper's slope through the ends: 20/2.0410
    assert terminal.coefficients == pytest.approx([0.0, 9.79912], rel=1e-6, abs=1e-12)
    assert terminal.largest == pytest.approx(0.00392, abs=1e-5)  # at 8 to 14
    least = {str(one.method): one.largest for one in found.curves}
    assert least["minimum–maximum"] <= least["least squares"] <= least["terminal"] + 1e-12


def test_cycles_show_hysteresis_repeatability_and_zero_return(tmp_path: Path) -> None:
    # By hand, of 200: 101.0 − 100.2, 100.6 − 100.2, 0.3 − 0.1
    result = CliRunner().invoke(app, ["calibrate", str(put(tmp_path, CYCLES)), "--json"])
    assert result.exit_code == 0, result.output
    shares = json.loads(result.stdout)["errors_pct_fs"]
    assert shares["hysteresis"] == pytest.approx(0.4)
    assert shares["repeatability"] == pytest.approx(0.2)
    assert shares["zero_return"] == pytest.approx(0.1)
    # The mean of the ups is 0.05, 100.4 and 200.1: 0.325 above the line through its ends
    assert shares["terminal"] == pytest.approx(0.1625)


def test_it_is_said_in_words(tmp_path: Path) -> None:
    path = put(tmp_path, KESSEL)
    result = CliRunner().invoke(
        app, ["calibrate", str(path), "--degree", "2", "--full-scale", "25"]
    )
    assert result.exit_code == 0, result.output
    assert "Full scale 25 bar" in result.stdout
    assert "— No readings were taken on the way down." in result.stdout
    assert " x²" in result.stdout


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("pressure,up\n0,0\n1,1\n2,2\n", "first row names the columns"),
        ("applied,down\n0,0\n1,1\n2,2\n", "first row names the columns"),
        ("applied,up,down,down\n0,0,0,0\n", "first row names the columns"),
        ("", "first row names the columns"),
        ("applied,up\n0,0\n1,1\n", "holds 2 pressures"),
        ("applied,up\n0,0\n1,1\n1,2\n", "row 4: the applied pressures rise"),
        ("applied,up\n0,0\n1,1\n2\n", "row 4: 1 values stand where 2 are named"),
        ("applied,up\n0,0\n1,high\n2,2\n", "row 3, column 2: “high” is no number"),
        ("applied,up\n0,0\n1,nan\n2,2\n", "row 3, column 2: “nan” is no number"),
        ("applied,up\n0,1\n1,1\n2,1\n", "does not make a calibration"),
    ],
)
def test_a_slip_is_named_with_its_place(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(KitError, match=said):
        calibrated(read_table(put(tmp_path, text)))


def test_a_table_that_is_not_there_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(KitError, match="cannot be read as a calibration table"):
        read_table(tmp_path / "none.csv")
