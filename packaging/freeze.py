"""Freeze the program: one folder that runs where there is no Python.

    python packaging/freeze.py          dist/gaugebench/, tested as built
    python packaging/freeze.py --deb    and from it a Debian package in dist/

It works in an environment of its own (build/freeze), so that nothing of the developer's gets in and
nothing that the program needs can be missing unnoticed. Everything is at the pinned versions.
"""

from __future__ import annotations

import argparse
import hashlib
import shutil
import subprocess
import sys
import tomllib
import venv
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PACKAGING = ROOT / "packaging"
ENVIRONMENT = ROOT / "build" / "freeze"
PROGRAM = ROOT / "dist" / "gaugebench"
FOR_DEVELOPERS = {"dev", "tools", "compare"}
PYTHON = ENVIRONMENT / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")


class FreezeError(Exception):
    """A step that failed, in one sentence."""


def run(step: str, command: Sequence[str | Path]) -> None:
    """Run a command in the project's folder. Raises `FreezeError` naming the step."""
    print(f"== {step}", flush=True)
    if subprocess.run(command, cwd=ROOT, check=False).returncode != 0:
        raise FreezeError(f"{step} failed; see its message above.")


def extras() -> str:
    """All but the developers': every driver works there, so that nobody is told to ask pip."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return ",".join(e for e in project["optional-dependencies"] if e not in FOR_DEVELOPERS)


def environment() -> None:
    """Make build/freeze anew where what it depends on has changed; else only our own code."""
    digest = hashlib.sha256(sys.version.encode())
    for part in (ROOT / "pyproject.toml", PACKAGING / "constraints.txt"):
        digest.update(part.read_bytes())
    stamp = ENVIRONMENT / "made-from.txt"
    pip: list[str | Path] = [
        PYTHON,
        "-m",
        "pip",
        "install",
        "--quiet",
        "--disable-pip-version-check",
    ]
    constrained: list[str | Path] = ["--constraint", PACKAGING / "constraints.txt"]
    if not stamp.exists() or stamp.read_text(encoding="utf-8") != digest.hexdigest():
        venv.create(ENVIRONMENT, with_pip=True, clear=True)
        run("Installing what is needed", [*pip, *constrained, f"{ROOT}[{extras()}]"])
        stamp.write_text(digest.hexdigest(), encoding="utf-8")
    run("Installing the program", [*pip, "--force-reinstall", "--no-deps", ROOT])


def build() -> None:
    """Run PyInstaller and put the licences in."""
    shutil.rmtree(PROGRAM, ignore_errors=True)
    run(
        "Freezing",
        [
            *(PYTHON, "-m", "PyInstaller", "--noconfirm", "--clean", "--log-level", "ERROR"),
            *("--distpath", PROGRAM.parent, "--workpath", ROOT / "build" / "freeze-work"),
            PACKAGING / "gaugebench.spec",
        ],
    )
    if sys.platform == "linux":
        run("Trimming", [PYTHON, PACKAGING / "trim.py", PROGRAM])
    run(
        "Collecting licences",
        [PYTHON, PACKAGING / "licences.py", PROGRAM / "LICENCES.txt", PROGRAM],
    )


def sizes(folder: Path) -> Counter[str]:
    """Bytes by part: the first folder below `_internal`, or the file beside it."""
    found: Counter[str] = Counter()
    for path in folder.rglob("*"):
        if path.is_file() and not path.is_symlink():
            parts = path.relative_to(folder).parts
            at = 1 if parts[0] == "_internal" else 0
            is_loose = len(parts) == at + 1
            found["system libraries and the starter" if is_loose else parts[at]] += (
                path.stat().st_size
            )
    return found


def main(arguments: Sequence[str] | None = None) -> int:
    """Freeze, test, state the size; wrap where asked."""
    parser = argparse.ArgumentParser(description="Freeze the program into one folder.")
    parser.add_argument("--deb", action="store_true", help="also make a Debian package")
    parser.add_argument("--untested", action="store_true", help="leave out the test of the result")
    options = parser.parse_args(arguments)
    try:
        environment()
        build()
        if not options.untested:
            run("Testing it as built", [PYTHON, PACKAGING / "try_frozen.py", PROGRAM])
        if options.deb:
            run("Wrapping", [PYTHON, PACKAGING / "deb.py", PROGRAM, ROOT / "dist"])
    except FreezeError as fault:
        print(fault, file=sys.stderr)
        return 1
    found = sizes(PROGRAM)
    for part, size in found.most_common(8):
        print(f"  {size / 1e6:7.1f} MB  {part}")
    print(f"{PROGRAM}: {sum(found.values()) / 1e6:.0f} MB.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
