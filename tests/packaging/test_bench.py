"""`start.py bench`: parts, what a failing or stopped part leaves, and the table in its page."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
GOOD = """
def test_good(measured):
    measured("redraw", 20.0, "ms", limit=50.0, note="of 8")
"""
BAD = """
def test_bad(measured):
    measured("growth", 9.0, "MB", limit=5.0)
    assert False
"""
CRASH = """
import os
def test_crash(measured):
    measured("before the crash", 1.0, "s")
    os._exit(7)
"""


@pytest.fixture
def bench(
    script: Callable[[str], ModuleType], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> ModuleType:
    """The script, with three parts of its own: one that holds, one that fails, one that crashes."""
    monkeypatch.delenv("GAUGEBENCH_BENCH_ROWS", raising=False)
    module = script("bench")
    tests = tmp_path / "tests"
    tests.mkdir()
    (tests / "conftest.py").write_bytes((ROOT / "tests" / "bench" / "conftest.py").read_bytes())
    parts = {}
    for name, text in {"bad": BAD, "crash": CRASH, "good": GOOD}.items():
        mark = "import pytest\npytestmark = pytest.mark.bench\n"
        (tests / f"test_{name}.py").write_text(mark + text, encoding="utf-8")
        parts[name] = module.Part(f"tests/test_{name}.py", 600.0 if name == "bad" else 1.0, name)
    (tmp_path / "pytest.ini").write_text("[pytest]\nmarkers =\n  bench: x\n", encoding="utf-8")
    monkeypatch.setattr(module, "ROOT", tmp_path)
    monkeypatch.setattr(module, "PARTS", parts)
    return module


def test_a_part_that_fails_or_crashes_leaves_the_others(bench: ModuleType, tmp_path: Path) -> None:
    assert bench.main([], tmp_path / "build") == 1
    text = (tmp_path / "build" / "bench.md").read_text(encoding="utf-8")
    assert "| redraw | 20 ms | 50 ms | 0.40 | of 8 |" in text
    assert "| growth | 9 MB | 5 MB | 1.80 |  |" in text
    assert "| before the crash | 1 s |  |  |  |" in text
    ends = {line.split(" | ")[0]: line for line in text.splitlines() if " min | " in line}
    assert ends["| bad"].endswith("failed: `test_bad` |")
    assert ends["| crash"].endswith("ended with status 7 |")
    assert ends["| good"].endswith("all as held against |")


def test_quick_leaves_out_what_takes_long_and_parts_join_one_table(
    bench: ModuleType,
    script: Callable[[str], ModuleType],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ran: list[str] = []

    def measure(name: str, _part: object, _marker: str, folder: Path) -> int:
        ran.append(name)
        rows: list[dict[str, Any]] = [{"began": "2026-01-01 00:00", "machine": bench.machine()}]
        rows += [{"figure": name, "value": 1, "unit": "s", "limit": None, "note": ""}]
        rows += [{"status": 0, "took_s": 1.0}]
        text = "\n".join(json.dumps(row) for row in rows)
        (folder / f"{name}.jsonl").write_text(text, encoding="utf-8")
        return 0

    monkeypatch.setattr(bench, "measure", measure)
    assert bench.main(["--quick"], tmp_path) == 0
    assert ran == ["crash", "good"]
    assert bench.main(["--publish"], tmp_path) == 1  # one part is missing
    assert bench.main(["bad"], tmp_path) == 0
    text = (tmp_path / "bench.md").read_text(encoding="utf-8")
    assert all(f"| {name} | 1 s |" in text for name in ("bad", "crash", "good"))
    page = tmp_path / "DEVELOPERS.md"
    table = script("bench_table")
    page.write_text(f"before\n{table.BEGIN}\nold\n{table.END}\nafter\n", encoding="utf-8")
    assert bench.main(["--publish"], tmp_path) == 0
    published = page.read_text(encoding="utf-8")
    assert published.startswith("before\n")
    assert published.endswith("after\n")
    assert text in published
    assert "old" not in published


def test_what_was_measured_before_it_was_stopped_is_kept(
    bench: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = bench.subprocess.run

    def stopped(*arguments: Any, **more: Any) -> Any:
        run(*arguments, **more)
        raise KeyboardInterrupt

    monkeypatch.setattr(bench.subprocess, "run", stopped)
    assert bench.main(["good"], tmp_path / "build") == bench.STOPPED
    text = (tmp_path / "build" / "bench.md").read_text(encoding="utf-8")
    assert "| redraw | 20 ms |" in text
    assert "| stopped |" in text


def test_an_unknown_part_is_named_with_those_there_are(
    bench: ModuleType, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit):
        bench.main(["typos"], tmp_path)
    assert "no part “typos”; the parts are bad, crash, good" in capsys.readouterr().err


def test_a_file_that_nobody_listed_is_a_part_of_its_own(
    bench: ModuleType, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "tests" / "bench"
    folder.mkdir()
    (folder / "test_newcomer.py").write_text('"""How fast it is: in all."""\n', encoding="utf-8")
    assert bench.main(["--list"], tmp_path / "build") == 0
    assert "newcomer     3.0 min guessed    How fast it is: in all\n" in capsys.readouterr().out


def test_another_machines_figures_stay_out_of_the_table(bench: ModuleType, tmp_path: Path) -> None:
    folder = tmp_path / "bench"
    folder.mkdir()
    (folder / "good.jsonl").write_text('{"began": "", "machine": "another"}\n', encoding="utf-8")
    assert bench.results(folder) == {}


def test_every_measurement_belongs_to_a_part(script: Callable[[str], ModuleType]) -> None:
    module = script("bench")
    known = {part.path for part in (*module.all_parts().values(), *module.COMPARED.values())}
    marks = ("pytest.mark.bench", "pytest.mark.compare")
    marked = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "tests").rglob("test_*.py")
        if path != Path(__file__) and any(m in path.read_text(encoding="utf-8") for m in marks)
    }
    assert marked == known


def test_the_page_for_developers_takes_the_table(script: Callable[[str], ModuleType]) -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert "the table" in script("bench_table").put_between_marks(text, "the table")
