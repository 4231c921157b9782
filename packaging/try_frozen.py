"""Try a built program as a stranger would: no Python, no environment, a home of its own.

    python packaging/try_frozen.py PROGRAM_FOLDER

It lists the drivers and ports, runs the demonstration without a screen, opens the trace that this
made, takes its figures and converts it. Ends with status 1 and the output of the first that fails.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from importlib import metadata
from pathlib import Path

LIMIT_S = 300
JOB = Path(__file__).resolve().parent.parent / "tests" / "data" / "schemas" / "job-1.jsonl"
REPORTS = {".pdf": b"%PDF-", ".html": b"<!doctype html>", ".xlsx": b"PK"}


class TryError(Exception):
    """What did not work, with what the program said."""


def stranger(home: Path) -> dict[str, str]:
    """An environment that knows of no Python, no display and no settings."""
    kept = {k: os.environ[k] for k in ("SYSTEMROOT", "TEMP", "TMP") if k in os.environ}
    return {**kept, "PATH": "/usr/bin:/bin", "HOME": str(home), "USERPROFILE": str(home)}


def ask(program: Path, home: Path, *arguments: str) -> str:
    """Standard output of a command. Raises `TryError` where it fails or says that code broke."""
    began = time.monotonic()
    done = subprocess.run(
        [program, *arguments],
        cwd=home,
        env=stranger(home),
        capture_output=True,
        timeout=LIMIT_S,
        check=False,
    )
    out, err = (stream.decode("utf-8", "replace") for stream in (done.stdout, done.stderr))
    if done.returncode != 0 or "Traceback" in err:
        raise TryError(f"“{' '.join(arguments)}” ended with {done.returncode}:\n{out}\n{err}")
    print(f"  {time.monotonic() - began:5.1f} s  {' '.join(arguments)}")
    return out


def try_all(program: Path, home: Path, wanted_drivers: Sequence[str]) -> None:
    """Raises `TryError` at the first thing that does not work."""
    said = ask(program, home, "--version")
    _see("the version is ours", metadata.version("gaugebench") in said, said)
    listed = ask(program, home, "drivers")
    for name in wanted_drivers:
        _see(f"the driver {name} is listed", f"{name}:" in listed, listed)
    ask(program, home, "ports")
    out = home / "demonstration"
    ask(program, home, "demo", "--headless", "--out", str(out))
    traces = sorted(out.rglob("*.h5"))
    _see("the demonstration made one trace", len(traces) == 1, str(list(out.rglob("*"))))
    figures = json.loads(ask(program, home, "figures", str(traces[0]), "--json"))
    _see("the trace has loadings", bool(figures["loadings"]), str(figures))
    table = home / "table.csv"
    ask(program, home, "convert", str(traces[0]), str(table))
    again = json.loads(ask(program, home, "figures", str(table), "--json"))
    same = len(again["loadings"]) == len(figures["loadings"])
    _see("its CSV gives as many loadings", same, str(again))
    ask(program, home, "verify", str(traces[0]))
    job = shutil.copy(JOB, home / "job.jsonl")
    for ending, begins in REPORTS.items():
        report = home / f"report{ending}"
        ask(program, home, "report", str(job), "--out", str(report))
        _see(f"a {ending} report is made", report.read_bytes().startswith(begins), str(report))


def _see(what: str, is_so: bool, said: str) -> None:
    if not is_so:
        raise TryError(f"It is not so that {what}:\n{said}")


def main(arguments: Sequence[str]) -> int:
    """Try the program in a folder."""
    folder = Path(arguments[0]).resolve()
    program = folder / ("gaugebench.exe" if sys.platform == "win32" else "gaugebench")
    wanted = [entry.name for entry in metadata.entry_points(group="gaugebench.drivers")]

    with tempfile.TemporaryDirectory(prefix="Jürgen Østergård ") as home:
        try:
            try_all(program, Path(home), wanted)
        except (TryError, OSError, subprocess.TimeoutExpired) as fault:
            print(fault, file=sys.stderr)
            return 1
    print(f"{program} works as built.")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
