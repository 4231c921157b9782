"""Scripts: read from TOML, carried out, written, and the same again."""

from __future__ import annotations

import gzip
import json
import platform
import re
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest

from gaugebench import guide
from gaugebench.errors import ScriptError
from gaugebench.model.quality import Quality
from gaugebench.model.role import ControlPort, Role
from gaugebench.session.simulated import simulate_to
from gaugebench.simulate.csvfile import csv_of
from gaugebench.simulate.faults import FAULTS
from gaugebench.simulate.moves import FaultOn, Move, Script
from gaugebench.simulate.plant import BAR, Control, standard_plant
from gaugebench.simulate.script import run
from gaugebench.simulate.scriptfile import read_script, script_from

SAMPLES = Path(__file__).parents[2] / "sample_traces"
NAMES = sorted(p.stem for p in SAMPLES.glob("*.toml"))

WHOLE = {
    "schema": 1,
    "duration_s": 2.0,
    "machine": {
        "control": "negative",
        "control_port": "servo",
        "oil": "113 °F",
        "grade": 68,
        "pistons": 7,
        "engine": "1500 rpm",
        "start": {"bucket": 1.0, "boom": 0.5},
        "set": {"relief 1": "33.1 MPa", "port arm b": "5400 psi", "torque limit": "500 N·m"},
        "blocked": ["travel left"],
    },
    "kit": {"rate_hz": 500, "bits": 12, "seed": 4},
    "move": [{"lever": "bucket", "at_s": 0.5, "hold_s": 1.0, "value": -0.5}],
    "switch": [{"what": "engine", "at_s": 1.0, "value": "950 rpm"}],
    "turn": [{"screw": "relief 2", "at_s": 1.0, "turns": 0.25}],
    "fault": [{"name": "worn pump", "severity": 0.5, "where": 2}],
}


def test_a_whole_script_is_read_with_its_units() -> None:
    script = script_from(WHOLE)
    plant = script.plant
    assert (plant.control, plant.control_port) == (Control.NEGATIVE, ControlPort.SERVO)
    assert plant.oil_celsius == pytest.approx(45.0)
    assert plant.oil.nu_40 == 68.0
    assert plant.reliefs[0].crack == pytest.approx(331 * BAR)
    assert plant.function("arm").port_b == pytest.approx(5400 * 6894.757293168361)
    assert plant.torque_nm == 500.0
    assert plant.function("boom").start == pytest.approx(0.625)
    assert plant.function("travel left").stroke - plant.function("travel left").low < 0.1
    assert [p.pistons for p in plant.pumps] == [7, 7]
    assert script.engine_rpm == pytest.approx(1500.0)
    assert script.rate_hz == 500
    assert {p.bits for p in script.rigging.probes} == {12}
    assert script.moves == (Move("bucket", 0.5, 1.0, -0.5),)
    assert script.faults == (FaultOn("worn pump", 0.5, "2"),)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"durations": 3}, "durations"),
        ({"duration_s": -1}, "duration_s"),
        ({"machine": {"oil": "45"}}, "needs a number and a unit"),
        ({"machine": {"set": {"relief 1": "330"}}}, "needs a number and a unit"),
        ({"machine": {"set": {"relief 3": "330 bar"}}}, "no screw “relief 3”"),
        ({"machine": {"set": {"port jib a": "330 bar"}}}, "no screw “port jib a”"),
        ({"machine": {"set": {"torque limit": "500"}}}, "should be a torque"),
        ({"machine": {"start": {"jib": 1.0}}}, "no function “jib”"),
        ({"machine": {"grade": 40}}, "machine.grade"),
        ({"move": [{"lever": "jib", "at_s": 0, "hold_s": 1}]}, "no lever “jib”"),
        ({"move": [{"lever": "boom", "at_s": 0, "hold_s": 1, "value": 2}]}, "move.0.value"),
        ({"switch": [{"what": "horn", "at_s": 0, "value": 1}]}, "switch.0.what"),
        ({"switch": [{"what": "engine", "at_s": 0, "value": 950}]}, "needs a number and a unit"),
        ({"turn": [{"screw": "relief 9", "at_s": 0, "turns": 1}]}, "no screw “relief 9”"),
        ({"fault": [{"name": "rust"}]}, "no fault “rust”"),
        ({"fault": [{"name": "worn pump", "where": 3}]}, "a pump is 1 or 2"),
        ({"fault": [{"name": "wire off", "where": "p9"}]}, "is at one of"),
    ],
)
def test_what_is_wrong_is_said_and_where(change: dict[str, object], said: str) -> None:
    with pytest.raises(ScriptError, match=said):
        script_from({"schema": 1, "duration_s": 2.0} | change)


def test_a_file_that_is_not_there_or_not_toml_is_named(tmp_path: Path) -> None:
    with pytest.raises(ScriptError, match=r"missing\.toml cannot be read"):
        read_script(tmp_path / "missing.toml")
    broken = tmp_path / "broken.toml"
    broken.write_text("schema = ")
    with pytest.raises(ScriptError, match=r"broken\.toml is not TOML"):
        read_script(broken)
    broken.write_bytes(b"# \xff\xfe")
    with pytest.raises(ScriptError, match="not text in UTF-8"):
        read_script(broken)


def test_a_run_gives_what_the_kit_logged_and_says_that_it_is_simulated() -> None:
    plant = standard_plant().with_function("bucket", start=1.05)
    script = Script(1.5, (Move("bucket", 0.3, 0.8),), plant=plant, rate_hz=500.0)
    trace, truth = run(script)
    assert trace.simulated
    assert trace.pumps == (1, 2)
    main = trace.find(Role.main(1))
    assert main is not None
    assert main.raw is not None
    assert len(main) == 750
    assert np.allclose(main.values, (main.raw - 0.5) / 4 * 600 * BAR)
    assert np.allclose(np.diff(main.times), 0.002)
    tank = trace.find(Role.parse("oil.temperature"))
    assert tank is not None
    assert tank.values[0] == pytest.approx(50.0)
    (loading,) = truth["loadings"]
    assert loading["pumps"].keys() == {"1"}
    # The kit's own noise and converter: 600 bar over 14 bits of 5 V, 0.15 bar rms.
    held = main.between(0.9, 1.2).values
    assert held.mean() == pytest.approx(loading["pumps"]["1"]["settled_pa"], abs=0.1 * BAR)


def test_the_same_script_gives_the_same_run_and_another_seed_another_noise() -> None:
    script = script_from(WHOLE)
    once, again = (csv_of(run(script)[0]) for _ in range(2))
    assert once == again
    other = csv_of(run(script_from(WHOLE | {"kit": {"rate_hz": 500, "bits": 12, "seed": 5}}))[0])
    assert other != once


def test_a_wire_that_is_off_leaves_empty_cells() -> None:
    script = Script(0.2, faults=(FaultOn("wire off", 1.0, "p2"),))
    trace, _ = run(script)
    main = trace.find(Role.main(2))
    assert main is not None
    assert np.isnan(main.values).all()
    assert (main.quality & np.uint16(Quality.WIRE_OFF)).all()
    lines = csv_of(trace).splitlines()
    assert lines[0] == (
        "time [s],pilot [MPa],pump1.main [MPa],pump1.control [MPa],pump2.main [MPa],"
        "pump2.control [MPa],engine.speed [rpm]"
    )
    assert lines[1].split(",")[4] == ""


def test_a_run_is_written_once_and_a_taken_name_gets_a_number(tmp_path: Path) -> None:
    script = tmp_path / "short.toml"
    script.write_text("schema = 1\nduration_s = 0.5\n")
    trace, truth = simulate_to(script, tmp_path / "short.csv.gz", truth=True)
    assert (trace.name, truth.name) == ("short.csv.gz", "short.truth.json")
    assert json.loads(truth.read_text())["loadings"] == []
    packed = trace.read_bytes()
    text = gzip.decompress(packed)
    assert text.startswith(b"time [s],pilot [MPa],")
    (plain,) = simulate_to(script, tmp_path / "short.csv", truth=False)
    assert plain.read_bytes() == text
    (again,) = simulate_to(script, tmp_path / "short.csv.gz", truth=False)
    assert again != trace
    assert (again.read_bytes(), trace.read_bytes()) == (packed, packed)
    with pytest.raises(ScriptError, match="cannot be read"):
        simulate_to(tmp_path / "none.toml", tmp_path / "none.csv", truth=False)


@pytest.mark.parametrize("name", NAMES)
def test_sample_traces_are_whole_small_and_say_what_they_hold(name: str) -> None:
    script = read_script(SAMPLES / f"{name}.toml")
    assert "invented" in script.particulars.machine
    text = gzip.decompress((SAMPLES / f"{name}.csv.gz").read_bytes()).decode()
    rows = text.splitlines()[1:]
    assert len(rows) == int(script.duration_s * script.rate_hz)
    truth = json.loads((SAMPLES / f"{name}.truth.json").read_text())
    assert bool(truth["loadings"]) == (name != "no_load")
    assert f"`{name}`" in (SAMPLES / "README.md").read_text()


def test_there_are_six_sample_traces_under_3_mb() -> None:
    assert len(NAMES) == 6
    assert sum(p.stat().st_size for p in SAMPLES.iterdir()) < 3e6


def test_a_sample_trace_comes_out_again_bit_for_bit(tmp_path: Path) -> None:
    """By the command that the README beside them names; all six are made again by the bench."""
    again = simulate_to(SAMPLES / "cold.toml", tmp_path / "cold.csv.gz", truth=True)
    for made in again:
        stored = SAMPLES / made.name
        if is_pinned():
            assert made.read_bytes() == stored.read_bytes()
    # Elsewhere the mathematics library may differ in a digit: to the converter's step.
    rows = [gzip.decompress((folder / "cold.csv.gz").read_bytes()).decode().splitlines()
            for folder in (tmp_path, SAMPLES)]  # fmt: skip
    assert rows[0][0] == rows[1][0]
    a, b = (np.array([r.split(",") for r in found[1:]], float) for found in rows)
    assert (np.abs(a - b).max(axis=0) <= [0, 6e-4, 6e-3, 6e-4, 6e-3, 6e-4, 0.13]).all()
    assert "gaugebench simulate sample_traces/NAME.toml --out NAME.csv.gz --truth" in (
        SAMPLES / "README.md"
    ).read_text(encoding="utf-8")


def test_the_script_of_the_guide_is_read_and_its_table_of_faults_is_whole() -> None:
    page = guide.text("practice.md")
    (example,) = re.findall(r"^```toml\n(.*?)^```", page, re.MULTILINE | re.DOTALL)
    script = script_from(tomllib.loads(example))
    assert script.rigging.probes[1].zero_pa
    table = page.partition("## What can be wrong with it")[2]
    listed = dict(re.findall(r"^\| `(.+?)` \| (.+?) \|", table, re.MULTILINE))
    assert listed == {name: fault.summary for name, fault in FAULTS.items()}


def is_pinned() -> bool:
    """Whether this is the environment that the samples were made in."""
    pins = (SAMPLES.parent / "packaging" / "constraints.txt").read_text(encoding="utf-8")
    return (
        sys.platform == "linux"
        and platform.machine() == "x86_64"
        and f"numpy=={np.__version__}" in pins.splitlines()
    )
