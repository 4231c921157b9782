"""The command line as a person or a script meets it."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from gaugebench import cli
from gaugebench.analyse.figures import analyse
from gaugebench.model.figures import Figure
from gaugebench.store.opening import open_trace

SCRIPT = """
schema = 1
duration_s = 6.0
[machine]
start = { bucket = 1.0 }
[[move]]
lever = "bucket"
at_s = 1.5
rise_s = 0.3
hold_s = 2.5
"""

PRACTICE_KIT = """
schema = 1
simulated = true
[[source]]
driver = "practice"
[[source.channel]]
input = "p1"
role = "pump1.main"
signal = "0.5-4.5 V"
range = ["0 bar", "600 bar"]
"""

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command; its exit status, standard output and standard error."""

    def call(*arguments: str | Path) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["gaugebench", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        printed = capsys.readouterr()
        status = ended.value.code
        assert isinstance(status, int)
        return status, printed.out, printed.err

    return call


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """Ten seconds at 100 Hz: idle at 2.5 MPa, a rise at 2 s to 30 MPa, let go at 7 s."""
    times = np.arange(1000) / 100
    rise = np.clip((times - 2.0) / 0.2, 0, 1) * np.clip((7.2 - times) / 0.2, 0, 1)
    noise = np.random.default_rng(1).normal(0, 0.02, times.size)
    main = 2.5 + 27.5 * rise + noise
    lines = [
        f"{t:.2f},{p:.4f},{0.4 + 2 * r:.4f}" for t, p, r in zip(times, main, rise, strict=True)
    ]
    path = tmp_path / "log.csv"
    head = "time [s],pump1.main [MPa],pump1.control [MPa]"
    path.write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
    return path


def test_figures_as_json_prints_one_object_and_nothing_else(run: Run, log: Path) -> None:
    status, out, err = run("figures", log, "--json")
    assert (status, err) == (0, "")
    found = json.loads(out)
    assert found["schema"] == 1
    assert found["reference"] == "gauge"
    (loading,) = found["loadings"]
    assert loading["pumps"]["1"]["settled_pa"] == pytest.approx(30e6, rel=1e-3)


def test_figures_as_a_table_show_their_unit(run: Run, log: Path) -> None:
    status, out, _ = run("figures", log, "--unit", "MPa")
    assert status == 0
    assert "30.00" in out
    assert "MPa" in out


def test_a_converted_trace_holds_the_same_samples(run: Run, log: Path, tmp_path: Path) -> None:
    made, back = tmp_path / "made.h5", tmp_path / "back.csv"
    assert run("convert", log, made)[0] == 0
    assert run("convert", made, back)[0] == 0
    first, second, third = (open_trace(p).series[0] for p in (log, made, back))
    assert np.array_equal(first.values, second.values)
    assert np.array_equal(first.values, third.values)
    assert np.array_equal(first.times, third.times)


def test_a_role_can_be_given_on_the_command_line(run: Run, log: Path) -> None:
    text = log.read_text(encoding="utf-8").replace("pump1.main [MPa]", "P left [MPa]")
    log.write_text(text, encoding="utf-8")
    status, out, _ = run("figures", log, "--json", "--role", "P left=pump1.main")
    assert status == 0
    assert len(json.loads(out)["loadings"]) == 1


def test_the_role_is_remembered_in_the_trace(run: Run, log: Path, tmp_path: Path) -> None:
    text = log.read_text(encoding="utf-8").replace("pump1.main [MPa]", "P left [MPa]")
    log.write_text(text, encoding="utf-8")
    made = tmp_path / "made.h5"
    assert run("convert", log, made, "--role", "P left=pump1.main")[0] == 0
    assert analyse(open_trace(made)).loadings


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["figures", "none.csv"], "none.csv"),
        (["figures", "LOG", "--role", "pump1.main"], "COLUMN=ROLE"),
        (["figures", "LOG", "--role", "a=b"], "role"),
        (["figures", "LOG", "--unit", "rpm"], "rpm"),
        (["convert", "LOG", "out.doc"], "out.doc"),
        (["record", "--kit", "none.toml", "--out", "x.h5"], "none.toml"),
        (["record", "--kit", "none.toml", "--out", "x.csv"], "x.csv"),
        (["figures"], "trace"),
        (["figure"], "figure"),
        (["figures", "LOG", "--fast"], "--fast"),
    ],
)
def test_bad_input_is_one_sentence_and_status_1(
    run: Run, log: Path, arguments: list[str], says: str
) -> None:
    status, out, err = run(*(log if a == "LOG" else a for a in arguments))
    assert status == 1
    assert out == ""
    assert says in err
    assert len(err.strip().splitlines()) == 1
    assert "Traceback" not in err


def test_a_file_that_is_no_trace(run: Run, tmp_path: Path) -> None:
    for name, content in {"a.h5": b"not HDF5", "b.csv": b"\x00\x01\x02", "c.csv": b""}.items():
        path = tmp_path / name
        path.write_bytes(content)
        status, out, err = run("figures", path, "--json")
        assert (status, out) == (1, "")
        assert name in err
        assert len(err.strip().splitlines()) == 1


def test_nothing_to_recover_is_said(run: Run, tmp_path: Path) -> None:
    status, out, _ = run("recover", tmp_path)
    assert status == 0
    assert "No unfinished record" in out


def test_the_drivers_are_listed_with_their_options(run: Run) -> None:
    status, out, _ = run("drivers")
    assert status == 0
    assert "text-lines" in out
    assert "port" in out
    assert "Not available" not in out


def test_a_driver_that_does_not_load_is_listed_with_its_trouble(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    info = tmp_path / "made_up-1.0.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: made-up\nVersion: 1.0\n")
    (info / "entry_points.txt").write_text(
        "[gaugebench.drivers]\nmade-up = no_such_module:DRIVER\n"
    )
    monkeypatch.syspath_prepend(tmp_path)
    status, out, _ = run("drivers")
    assert status == 0
    assert "text-lines" in out
    assert "Not available: The driver “made-up” (no_such_module:DRIVER) cannot be loaded" in out


def test_the_ports_are_listed(run: Run) -> None:
    status, out, _ = run("ports")
    assert status == 0
    assert out.strip()


def test_help_and_version(run: Run) -> None:
    status, out, _ = run("--help")
    assert status == 0
    for command in ("demo", "record", "figures", "convert", "recover", "ports", "drivers"):
        assert command in out
    assert run("--version")[1].startswith("gaugebench ")


def test_a_trace_is_verified(run: Run, log: Path, tmp_path: Path) -> None:
    made = tmp_path / "made.h5"
    run("convert", log, made)
    status, out, err = run("verify", made)
    assert (status, err) == (0, "")
    assert "follows the format" in out
    cut = tmp_path / "cut.h5"
    cut.write_bytes(made.read_bytes()[:-2000])
    status, _, err = run("verify", cut)
    assert status == 1
    assert "cut.h5" in err


def test_the_blank_sheet_can_be_written_out_and_checked(run: Run, tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.toml"
    sheet.write_text(run("sheet", "blank")[1], encoding="utf-8")
    assert run("sheet", "check", sheet)[0] == 0
    text = sheet.read_text(encoding="utf-8").replace("schema", "shema", 1)
    sheet.write_text(text, encoding="utf-8")
    status, out, err = run("sheet", "check", sheet)
    assert status == 1
    assert "shema" in out + err


def test_a_simulated_visit_comes_with_its_truth(run: Run, tmp_path: Path) -> None:
    script = tmp_path / "script.toml"
    script.write_text(SCRIPT, encoding="utf-8")
    made = tmp_path / "visit.h5"
    status, _, err = run("simulate", script, "--out", made, "--truth")
    assert (status, err) == (0, "")
    truth = json.loads((tmp_path / "visit.truth.json").read_text(encoding="utf-8"))
    found = analyse(open_trace(made))
    assert open_trace(made).simulated
    assert len(found.loadings) == len(truth["loadings"]) == 1
    settled = found.loadings[0].pumps[1].settled
    assert isinstance(settled, Figure)
    wanted = truth["loadings"][0]["pumps"]["1"]["settled_pa"]
    assert settled.value == pytest.approx(wanted, rel=5e-3)


def test_a_kit_is_listened_to_without_a_port(run: Run, tmp_path: Path) -> None:
    kit = tmp_path / "kit.toml"
    kit.write_text(PRACTICE_KIT, encoding="utf-8")
    status, out, err = run("listen", "--kit", kit, "--seconds", "1", "--unit", "psi")
    assert (status, err) == (0, "")
    assert "rows/s" in out
    assert "psi" in out


def test_what_cannot_be_decided_names_the_flag_that_decides_it(run: Run, tmp_path: Path) -> None:
    # Dates that may be read day first or month first.
    path = tmp_path / "log.csv"
    rows = [f"0{3 + n // 60}/04/2025 08:00:{n % 60:02};{100 + n}" for n in range(60)]
    path.write_text("time;pump1.main [bar]\n" + "\n".join(rows) + "\n", encoding="utf-8")
    made = tmp_path / "made.h5"
    status, out, err = run("convert", path, made)
    assert (status, out) == (1, "")
    assert "--date-order" in err
    assert not made.exists()
    assert run("convert", path, made, "--date-order", "dmy")[0] == 0
    started = open_trace(made).started
    assert started is not None
    assert (started.month, started.day) == (4, 3)


def test_a_recipe_reads_the_next_file_of_the_same_logger(
    run: Run, log: Path, tmp_path: Path
) -> None:
    text = log.read_text(encoding="utf-8").replace("pump1.main [MPa]", "P left")
    log.write_text(text, encoding="utf-8")
    recipe = tmp_path / "recipe.json"
    said = ["--role", "P left=pump1.main", "--unit-of", "P left=MPa"]
    first = run("convert", log, tmp_path / "a.h5", "--save-recipe", recipe, *said)
    assert first[0] == 0
    assert run("figures", log, "--json")[0] == 1
    status, out, _ = run("figures", log, "--json", "--recipe", recipe)
    assert status == 0
    assert len(json.loads(out)["loadings"]) == 1


def test_the_book_is_made_anew_from_a_folder(run: Run, log: Path, tmp_path: Path) -> None:
    folder, book = tmp_path / "traces", tmp_path / "book.sqlite"
    folder.mkdir()
    run("convert", log, folder / "a.h5")
    (folder / "b.h5").write_bytes(b"no trace")
    status, out, err = run("book", "rebuild", folder, "--book", book)
    assert status == 0
    assert out.startswith("1 traces of 1 jobs")
    assert "b.h5" in err
    assert run("book", "find", "--book", book)[1].startswith("1: ")
    assert "No job found" in run("book", "find", "nobody", "--book", book)[1]


def test_a_sheet_says_which_way_the_control_pressure_destrokes(
    run: Run, log: Path, tmp_path: Path
) -> None:
    sheet = tmp_path / "sheet.toml"
    sheet.write_text(run("sheet", "blank")[1], encoding="utf-8")
    status, out, _ = run("figures", log, "--json", "--sheet", sheet)
    assert status == 0
    assert json.loads(out)["settings"]["control_sense"] in {"falling", "rising"}
    assert run("figures", log, "--json", "--sheet", tmp_path / "none.toml")[0] == 1
