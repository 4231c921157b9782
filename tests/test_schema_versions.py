"""What an older version wrote is read for ever; what a newer one wrote is refused or said so.

tests/data/schemas holds one file of each kind and version as that version wrote it. A file there is
never changed: a new version adds a file.
"""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import h5py
import pytest

from gaugebench.analyse.figures import analyse
from gaugebench.analyse.jsonform import as_json
from gaugebench.errors import GaugebenchError, JobError
from gaugebench.guide import text
from gaugebench.model.job import EVENT, CycleTimed, JobOpened, TravelWalked
from gaugebench.model.kit import read_kit
from gaugebench.model.role import Role
from gaugebench.procedure import jobfile, sheet
from gaugebench.simulate.scriptfile import read_script
from gaugebench.store.book.book import Book
from gaugebench.store.opening import open_trace

OLD = Path(__file__).parent / "data" / "schemas"
SAMPLE = Path(__file__).parents[1] / "sample_traces" / "as_found.csv.gz"
READERS: dict[str, Callable[[Path], object]] = {
    "kit": read_kit,
    "sheet": sheet.read,
    "script": read_script,
}


def test_every_old_file_has_its_test() -> None:
    assert {path.name for path in OLD.iterdir()} == {
        "kit-1.toml",
        "sheet-1.toml",
        "script-1.toml",
        "job-1.jsonl",
        "trace-1.h5",
        "figures-1.json",
        "book-1.sqlite",
    }


def test_a_kit_of_schema_1_is_read() -> None:
    kit = read_kit(OLD / "kit-1.toml")
    assert [c.role for c in kit.source[0].channel][:2] == ["pump1.main", "pump2.main"]


def test_a_sheet_of_schema_1_is_read() -> None:
    found = sheet.read(OLD / "sheet-1.toml")
    assert found.machine.name == "Marten 21"
    assert found.check


def test_a_script_of_schema_1_is_read() -> None:
    assert read_script(OLD / "script-1.toml").duration_s == 0.5


def test_a_job_of_schema_1_is_read() -> None:
    replay = jobfile.read(OLD / "job-1.jsonl")
    assert replay.faults == ()
    assert isinstance(replay.events[0], JobOpened)
    assert sheet.parse(replay.events[0].sheet).machine.name == "Marten 21"


def test_entries_written_before_their_later_fields_are_read() -> None:
    at, phase = "2026-01-01T08:00:00Z", "as found"
    seconds = {"value": 3.0, "unit": "s", "expanded": 0.04}
    timed = EVENT.validate_python(
        {"at": at, "kind": "cycle timed", "check": "bucket-time", "phase": phase,
         "seconds": seconds, "rpm": 1990.0, "droop_pct": 1.0, "unloaded": True}
    )  # fmt: skip
    assert isinstance(timed, CycleTimed)
    assert (timed.merged, timed.regenerated) == (None, None)
    walked = EVENT.validate_python(
        {"at": at, "kind": "travel walked", "phase": phase, "heading": "forward", "speed": "low",
         "deviation_m": 0.1, "to": "left", "distance_m": 20.0, "second_lever": False}
    )  # fmt: skip
    assert isinstance(walked, TravelWalked)
    assert walked.expanded_m is None


def test_a_trace_of_format_1_is_read() -> None:
    trace = open_trace(OLD / "trace-1.h5")
    main = trace.find(Role.parse("pump1.main"))
    assert main is not None
    assert len(main) == 100


def keys_of(found: object, where: str = "") -> set[str]:
    """Every key of a JSON value by its way; pumps and items of a list are one way together."""
    if isinstance(found, dict):
        if where.endswith((".u", ".why_absent", ".cautions", ".settings")):
            return {where}
        ways = set()
        for key, value in found.items():
            part = "*" if where.endswith(".pumps") else key
            ways |= {f"{where}.{part}"} | keys_of(value, f"{where}.{part}")
        return ways
    if isinstance(found, list):
        return set().union(*(keys_of(value, where) for value in found))
    return set()


def test_figures_of_schema_1_keep_every_key() -> None:
    """What a program of somebody's own reads; a key that goes or changes needs a new schema."""
    old = json.loads((OLD / "figures-1.json").read_text(encoding="utf-8"))
    new = as_json(analyse(open_trace(SAMPLE)))
    assert old["schema"] == new["schema"] == 1
    assert ".loadings.pumps.*.relief_crack.pressure_pa" in keys_of(old)
    assert keys_of(old) <= keys_of(new)
    table = text("figures.md").partition("## Figures as JSON")[2]
    told = set(re.findall(r"`(\w+)`", table))
    assert {way.rpartition(".")[2] for way in keys_of(new)} - {"*"} <= told


def test_a_book_of_schema_1_is_read(tmp_path: Path) -> None:
    path = tmp_path / "book.sqlite"
    shutil.copy(OLD / "book-1.sqlite", path)
    with Book(path) as book:
        assert book.told is None
        (job,) = book.search("marten")
        assert (job.job, job.serial) == ("old job", "MT21-0417")
        (trace,) = book.job(job.number).traces
        assert trace.path.name == "visit.h5"


@pytest.mark.parametrize("kind", READERS)
def test_a_newer_file_is_refused_by_its_number(kind: str, tmp_path: Path) -> None:
    newer = tmp_path / "newer.toml"
    text = (OLD / f"{kind}-1.toml").read_text(encoding="utf-8")
    newer.write_text("new_key = 1\n" + text.replace("schema = 1", "schema = 2", 1), "utf-8")
    with pytest.raises(
        GaugebenchError, match=r"schema: 2 is from a newer version .* up to date\.$"
    ):
        READERS[kind](newer)


def test_a_newer_trace_is_read_and_says_that_it_is_newer(tmp_path: Path) -> None:
    newer = tmp_path / "newer.h5"
    shutil.copy(OLD / "trace-1.h5", newer)
    with h5py.File(newer, "r+", libver="latest") as file:
        file.attrs.modify("gaugebench_format", 2)
    assert open_trace(OLD / "trace-1.h5").remarks == ()
    (remark,) = open_trace(newer).remarks
    assert "newer" in remark


def test_a_newer_job_is_refused(tmp_path: Path) -> None:
    event = jobfile.read(OLD / "job-1.jsonl").events[0]
    line = jobfile.encode(0, event.model_copy(update={"schema_version": 2}))
    newer = tmp_path / "newer.jsonl"
    newer.write_bytes(line)
    with pytest.raises(JobError, match="holds no job"):
        jobfile.read(newer)
    assert "schema_version" in jobfile.decode(line).faults[0]
