"""The command line on jobs: conditions, a table of figures, history, handing over."""

from __future__ import annotations

import csv
import json
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from gaugebench import cli
from gaugebench.model.job import How, Phase, ReadingTaken, Value
from gaugebench.model.trace import Particulars
from gaugebench.procedure import jobfile
from gaugebench.procedure.pumpdata import pump_data
from gaugebench.procedure.sheet import read
from gaugebench.store.opening import open_trace
from gaugebench.store.tracefile import write_trace

ROOT = Path(__file__).parents[1]
SAMPLE = ROOT / "sample_traces" / "as_found.csv.gz"
SHEET = ROOT / "gaugebench" / "procedure" / "sheets" / "invented.toml"
OLD_JOB = Path(__file__).parent / "data" / "schemas" / "job-1.jsonl"

SETTLED_PA = 348.6e5
"""Of pump 1 in the first loading of the sample, to a tenth of a bar."""

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command; its exit status, standard output and standard error."""

    def call(*arguments: str | Path) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["gaugebench", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        printed = capsys.readouterr()
        assert isinstance(ended.value.code, int)
        return ended.value.code, printed.out, printed.err

    return call


def test_conditions_stand_beside_every_loading_and_the_sheet_gives_power(run: Run) -> None:
    status, out, _ = run("conditions", SAMPLE, "--sheet", SHEET)
    assert status == 0
    found = json.loads(out)["loadings"]
    assert len(found) == 4
    pump = found[0]["pumps"]["1"]
    # A pump on full stroke: pressure × displacement × turns a second (hydraulics handbooks).
    turns_a_second = found[0]["engine_speed_rpm"] / 60
    displacement = pump_data(read(SHEET))[1].displacement
    assert displacement is not None
    full = SETTLED_PA * displacement * turns_a_second
    assert pump["hold_power_w"] == pytest.approx(full, abs=pump["u"]["hold_power_w"])
    status, out, _ = run("conditions", SAMPLE)
    assert status == 0
    assert json.loads(out)["loadings"][0]["pumps"]["1"]["hold_power_w"] is None


def test_figures_are_written_as_a_table_too(run: Run, tmp_path: Path) -> None:
    target = tmp_path / "figures.csv"
    status, out, err = run("figures", SAMPLE, "--json", "--table", target)
    assert status == 0
    assert err == f"Wrote {target}.\n"
    settled = json.loads(out)["loadings"][0]["pumps"]["1"]["settled_pa"]
    with target.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    (row,) = [r for r in rows if (r["loading"], r["pump"], r["figure"]) == ("1", "1", "settled")]
    assert float(row["value"]) == pytest.approx(settled)
    assert run("figures", SAMPLE, "--table", tmp_path / "figures.ods")[0] == 1


def test_history_goes_through_the_jobs_of_one_machine(run: Run, tmp_path: Path) -> None:
    old = jobfile.read(OLD_JOB).events
    paths = []
    for name, pressure_bar in (("spring", 341.0), ("autumn", 329.0)):
        at = datetime(2026, 3 if name == "spring" else 9, 4, 10, tzinfo=UTC)
        opened = old[0].model_copy(update={"at": at, "serial": "MX-1"})
        value = Value(value=pressure_bar * 1e5, unit="Pa", expanded=1e5)
        taken = ReadingTaken(
            at=at, check="main-relief-1", phase=Phase.AS_FOUND, value=value, how=How.BY_HAND
        )
        path = tmp_path / f"{name}.jsonl"
        lines = [jobfile.encode(n, event) for n, event in enumerate((opened, taken))]
        path.write_bytes(b"".join(lines))
        paths.append(path)
    status, out, _ = run("history", *reversed(paths))
    assert status == 0
    head, first, second = out.splitlines()
    assert head.split() == ["check", "band", "hours", "date", "phase", "reading", "verdict"]
    assert "2026-03-04" in first
    assert first.endswith("pass")
    assert "329.0 ± 1.0 bar" in second
    assert second.endswith("fail")
    status, out, _ = run("history", *paths, "--serial", "of another machine")
    assert (status, len(out.splitlines())) == (0, 1)


def test_a_job_is_packed_and_unpacked_elsewhere(run: Run, tmp_path: Path) -> None:
    opened = open_trace(SAMPLE)
    about = Particulars(machine="Marten 21", serial="MX-1", job="J-7")
    folder, book, other = tmp_path / "traces", tmp_path / "one.sqlite", tmp_path / "other.sqlite"
    folder.mkdir()
    trace = replace(opened, particulars=about, started=datetime(2026, 3, 4, 10, tzinfo=UTC))
    write_trace(trace, folder / "visit.h5")
    note = tmp_path / "note.txt"
    note.write_text("as left", encoding="utf-8")
    assert run("book", "rebuild", folder, "--book", book)[0] == 0
    packed = tmp_path / "packed"
    status, out, _ = run("book", "pack", "1", "--out", packed, "--also", note, "--book", book)
    assert status == 0
    made = Path(out.removeprefix("Wrote ").rstrip(".\n"))
    status, out, _ = run("book", "unpack", made, tmp_path / "there", "--book", other)
    assert status == 0
    assert {p.name for p in (tmp_path / "there").iterdir()} == {"visit.h5", "note.txt"}
    assert run("book", "find", "MX-1", "--book", other)[1].startswith("1: ")
    assert run("book", "pack", "9", "--out", packed, "--book", book)[0] == 1


def test_the_log_is_put_into_one_file(run: Run, tmp_path: Path) -> None:
    target = tmp_path / "log.txt"
    assert run("log", "--out", target)[0] == 0
    assert "numpy " in target.read_text(encoding="utf-8")
    status, _, err = run("log", "--out", target)
    assert status == 1
    assert "choose another place" in err
