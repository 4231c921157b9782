"""Measure, part by part, and keep one table of what came out.

    python3 packaging/start.py bench                 every part; the table is build/bench.md
    python3 packaging/start.py bench health store    only these parts
    python3 packaging/start.py bench --quick         only parts that take less than two minutes
    python3 packaging/start.py bench --list          the parts and how long each took here last
    python3 packaging/start.py bench --publish       no measuring: the table goes into DEVELOPERS.md
    python3 packaging/start.py bench --compare       against libraries that the program does not use

A part is one file of measurements in a process of its own: one that fails or crashes leaves the
others standing and is named below the table. What was measured is written after each part, so it
may be stopped at any time (Ctrl-C); parts asked for later join the table of the same machine.
"""

from __future__ import annotations

import argparse
import ast
import json
import os
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from bench_table import machine, page, put_between_marks

ROOT = Path(__file__).resolve().parent.parent
BUILD = ROOT / "build"
QUICK_S = 120.0
GUESS_S = 180.0
"""Of a part that nobody has listed below."""
STOPPED = 130
"""Exit status of what a user has stopped."""


@dataclass(frozen=True, slots=True)
class Part:
    """One file of measurements. about_s: a guess, until it was measured here."""

    path: str
    about_s: float
    what: str


PARTS = {
    "acquire": Part("tests/bench/test_acquire.py", 240, "reading, journalling, from byte to ring"),
    "coverage": Part("tests/bench/test_coverage.py", 50, "how often ± holds the truth"),
    "day": Part("tests/bench/test_day_bench.py", 240, "a trace of a day in Review; 2 GB of disk"),
    "desk": Part("tests/bench/test_desk_bench.py", 300, "frames, steps through an hour, start"),
    "faults": Part("tests/procedure/test_limiting.py", 100, "stored faults against the simulation"),
    "figures": Part("tests/bench/test_figures_bench.py", 50, "figures of an hour, and their truth"),
    "fresh": Part(
        "tests/bench/test_fresh_machines.py", 240, "figures of machines nobody tuned for"
    ),
    "health": Part("tests/bench/test_health_speed.py", 10, "health of an hour"),
    "recognition": Part(
        "tests/bench/test_recognition.py", 60, "what a loading is offered for; taken wrongly"
    ),
    "simulate": Part("tests/bench/test_simulate_speed.py", 20, "the practice machine's speed"),
    "soak": Part("tests/bench/test_soak.py", 110, "memory of Live in real time"),
    "store": Part("tests/bench/test_store_bench.py", 300, "writing, import, opening, the job book"),
}
COMPARED = {
    "pickers": Part("tests/bench/test_pickers.py", 60, "onset and knee against outside methods"),
}


def all_parts() -> dict[str, Part]:
    """The parts above, and each further file of tests/bench under its own name."""
    found = dict(PARTS)
    known = {part.path for part in (*PARTS.values(), *COMPARED.values())}
    for path in sorted((ROOT / "tests" / "bench").glob("test_*.py")):
        name, place = path.stem.removeprefix("test_"), path.relative_to(ROOT).as_posix()
        if place not in known:
            told = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or name
            found[name] = Part(place, GUESS_S, told.splitlines()[0].rstrip(".:"))
    return found


def now() -> str:
    """The time for the record."""
    return datetime.now(UTC).strftime("%Y-%m-%d %H:%M")


def measure(name: str, part: Part, marker: str, folder: Path) -> int:
    """Run one part; rows of its figures, then how it went, are left in `folder`."""
    rows = folder / f"{name}.jsonl"
    rows.unlink(missing_ok=True)
    begin = {"began": now(), "machine": machine()}
    rows.write_text(json.dumps(begin) + "\n", encoding="utf-8")
    command = [sys.executable, "-m", "pytest", "-q", "-s", "-m", marker, "--timeout=1800"]
    started = time.monotonic()
    status = STOPPED
    try:
        status = subprocess.run(
            [*command, part.path],
            cwd=ROOT,
            env={**os.environ, "GAUGEBENCH_BENCH_ROWS": str(rows)},
            check=False,
        ).returncode
    finally:
        end = {"status": status, "took_s": round(time.monotonic() - started, 1)}
        with rows.open("a", encoding="utf-8") as out:
            out.write(json.dumps(end) + "\n")
    return STOPPED if status == 2 else status  # pytest's own word for having been stopped


def results(folder: Path) -> dict[str, list[dict[str, Any]]]:
    """What each part left on this machine, by its name, in the order of the parts."""
    found = {}
    for name in (*all_parts(), *COMPARED):
        path = folder / f"{name}.jsonl"
        if path.exists():
            lines = path.read_text(encoding="utf-8").splitlines()
            rows = [json.loads(line) for line in lines]
            if rows and rows[0].get("machine") == machine():
                found[name] = rows
    return found


def took_s(rows: Sequence[dict[str, Any]]) -> float | None:
    """How long a part took here last, seconds; None where it never came to its end."""
    return next((r["took_s"] for r in rows if r.get("status") == 0), None)


def write(folder: Path) -> Path:
    """Write the table of all that stands, and say where."""
    target = folder.parent / "bench.md"
    if found := results(folder):
        target.write_text(page(found), encoding="utf-8")
    return target


def publish(folder: Path) -> int:
    """Put the table into DEVELOPERS.md; refused where a part is missing."""
    found = results(folder)
    if missing := [name for name in all_parts() if name not in found]:
        print(f"Not published: not measured here yet: {', '.join(missing)}.", file=sys.stderr)
        return 1
    target = ROOT / "DEVELOPERS.md"
    text = target.read_text(encoding="utf-8")
    target.write_text(put_between_marks(text, page(found)), encoding="utf-8")
    print(f"The table is in {target.name}.")
    return 0


def main(arguments: Sequence[str], build: Path = BUILD) -> int:
    """Read the command line, measure, write."""
    reader = argparse.ArgumentParser(
        prog="start.py bench",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    reader.add_argument("parts", nargs="*", metavar="PART")
    for flag in ("--quick", "--list", "--publish", "--compare"):
        reader.add_argument(flag, action="store_true")
    options = reader.parse_args(arguments)
    known = COMPARED if options.compare else all_parts()
    if unknown := [name for name in options.parts if name not in known]:
        reader.error(f"there is no part “{unknown[0]}”; the parts are {', '.join(known)}")
    folder = build / "bench"
    folder.mkdir(parents=True, exist_ok=True)
    if options.publish:
        return publish(folder)
    last = results(folder)
    taken = {name: took_s(last.get(name, ())) for name in known}
    times = {name: taken[name] or part.about_s for name, part in known.items()}
    if options.list:
        for name, part in known.items():
            here = "here last" if taken[name] else "guessed"
            print(f"{name:10} {times[name] / 60:5.1f} min {here:10} {part.what}")
        return 0
    chosen = options.parts or [n for n in known if not options.quick or times[n] < QUICK_S]
    return run_all({name: known[name] for name in chosen}, times, options.compare, folder)


def run_all(chosen: dict[str, Part], times: dict[str, float], compare: bool, folder: Path) -> int:
    """Measure the parts in turn; the table is written after each. 1 where one did not succeed."""
    total = sum(times[name] for name in chosen) / 60
    print(f"{len(chosen)} parts, about {total:.0f} min; Ctrl-C keeps what was measured until then.")
    worst = 0
    for name, part in chosen.items():
        print(f"\n== {name}: {part.what}, about {times[name] / 60:.1f} min", flush=True)
        try:
            status = measure(name, part, "compare" if compare else "bench", folder)
        except KeyboardInterrupt:
            status = STOPPED
        target = write(folder)
        if status == STOPPED:
            print(f"\nStopped; what was measured is in {target}.")
            return STOPPED
        worst = worst or int(status != 0)
    print(f"\n{target.read_text(encoding='utf-8')}\nWritten to {target}.")
    return worst


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
