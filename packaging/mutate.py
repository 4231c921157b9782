"""Do the tests notice a fault? Lets mutmut change a room's code a little, many times.

    .venv/bin/python packaging/mutate.py store --files reading.py seal.py
    .venv/bin/python packaging/mutate.py analyse --draw 40 --seed 1

Every mutant is one small change to one function, tried in a copy of the tree; the tree itself is
not touched. It is tried with those tests that call the function, and if it passes with all of them.
What the tests then still let pass has survived: it is printed, so that a test can be written, or
the code found to be idle, or the mutant found to change nothing that anybody could notice.
Survivors that change words alone are counted apart. mutmut leaves alone what is outside functions,
and functions with decorators.

Needs what `start.py test --tools` installs, and a system that can fork.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
COPIED = ("gaugebench", "drivers", "tests", "packaging", "sample_traces")
COPIED_FILES = ("pyproject.toml", "README.md", "DEVELOPERS.md", "CHANGELOG.md")
MARKERS = "not bench and not tools and not compare"
PYTEST = ("-p", "no:cacheprovider", "-m")
CONFTEST = """from hypothesis import Phase, settings
settings.register_profile("mutants", phases=[Phase.explicit, Phase.generate], database=None)
settings.load_profile("mutants")
"""
"""That a search fails is enough; the smallest case that fails would take minutes to find."""
MEMORY = 8 << 30
"""Bytes that one run may ask for: a mutant may ask for anything."""
KILLED = {"killed", "timeout", "suspicious", "segfault"}


class MutateError(Exception):
    """mutmut did not do what it was asked, with what it said."""


@dataclass(frozen=True)
class Mutant:
    """One change. name: mutmut's. status: mutmut's word. diff: the lines that differ."""

    name: str
    status: str
    diff: tuple[str, ...] = ()

    @property
    def module(self) -> str:
        """The module that was changed."""
        return self.name.rpartition(".")[0]

    @property
    def words_alone(self) -> bool:
        """Whether only the text of a string was changed."""
        old = "".join(line[1:] for line in self.diff if line[0] == "-")
        new = "".join(line[1:] for line in self.diff if line[0] == "+")
        return bool(old) and old.casefold() == new.replace("XX", "").casefold()


def copied(root: Path, copy: Path, files: list[str], tests: list[str]) -> None:
    """Make a copy of the tree that tells mutmut to change only these files (patterns)."""
    for name in COPIED:
        if (root / name).is_dir():
            shutil.copytree(root / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in COPIED_FILES:
        if (root / name).is_file():
            shutil.copy(root / name, copy / name)
    (copy / "conftest.py").write_text(CONFTEST, encoding="utf-8")
    said: dict[str, object] = {
        "source_paths": ["gaugebench"],
        "only_mutate": files,
        "also_copy": [path.name for path in copy.iterdir() if path.name != "gaugebench"],
        "pytest_add_cli_args": [*PYTEST, f"{MARKERS} and not hypothesis"],
        "pytest_add_cli_args_test_selection": tests,
        "timeout_multiplier": 3.0,
        "timeout_constant": 5.0,
        "use_git_change_detection": False,
        "track_dependencies": False,
    }
    lines = [f"{key} = {json.dumps(value)}" for key, value in said.items()]  # is TOML here as well
    with (copy / "pyproject.toml").open("a", encoding="utf-8") as file:
        file.write("\n".join(["", "[tool.mutmut]", *lines, ""]))


def mutmut(copy: Path, *arguments: str) -> str:
    """What mutmut says in the copy, whether or not it succeeds."""
    said = _run(copy, copy, ["mutmut", *arguments]).stdout.decode("utf-8", "replace")
    return re.sub(r"[^\n]*\r", "", said)  # what it wrote over


def _run(
    copy: Path, where: Path, module: list[str], **more: str
) -> subprocess.CompletedProcess[bytes]:
    mutants = copy / "mutants"
    mutants.mkdir(exist_ok=True)  # Python would never look again into a folder that was not there
    path = os.pathsep.join([str(mutants), *filter(None, [os.environ.get("PYTHONPATH")])])
    return subprocess.run(
        [sys.executable, "-m", *module],
        cwd=where,
        # Processes that the tests start shall run the changed code as well.
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen", "PYTHONPATH": path, **more},
        preexec_fn=_bound_memory,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        check=False,
    )


def _bound_memory() -> None:
    import resource  # not on every system; nor is fork, which mutmut needs

    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))


def found(copy: Path) -> list[Mutant]:
    """All mutants that mutmut made, as it has them now."""
    lines = [line.strip() for line in mutmut(copy, "results", "--all", "true").splitlines()]
    named = (line.rpartition(": ") for line in lines if "__mutmut_" in line)
    return sorted((Mutant(name, status) for name, _, status in named), key=lambda m: m.name)


def shown(copy: Path, mutant: Mutant) -> Mutant:
    """The same with its diff."""
    lines = mutmut(copy, "show", mutant.name).splitlines()
    changed = [line for line in lines if line[:1] in {"-", "+"} and line[:3] not in {"---", "+++"}]
    return Mutant(mutant.name, mutant.status, tuple(changed))


def survives(copy: Path, mutant: Mutant, tests: list[str]) -> bool:
    """Whether the tests, run whole in a process of its own, let a mutant pass that mutmut made.

    This brings in searches, which are slow, and what tests do in other processes.
    """
    module = ["pytest", "-x", "-q", *PYTEST, MARKERS, *tests]
    return _run(copy, copy / "mutants", module, MUTANT_UNDER_TEST=mutant.name).returncode == 0


def tried(copy: Path, tests: list[str], draw: int | None, seed: int) -> list[Mutant]:
    """Make the mutants, try all or a draw of them. Raises `MutateError`."""
    # Asked for none, it makes them all and times the tests, and then says that nothing matches.
    said = mutmut(copy, "run", "--max-children", "1", "no.such.mutant")
    names = [mutant.name for mutant in found(copy)]
    if "nothing matches" not in said or not names:
        raise MutateError(said)
    if draw is not None:
        names = random.Random(seed).sample(names, min(draw, len(names)))  # noqa: S311
    said = mutmut(copy, "run", "--max-children", "1", *names)
    if "Mutant results" not in said or not survives(copy, Mutant("", ""), tests):
        raise MutateError(said)
    told = []
    for mutant in found(copy):
        if mutant.name not in names:
            continue
        if mutant.status in KILLED or not survives(copy, mutant, tests):
            told.append(Mutant(mutant.name, "killed"))
        else:
            told.append(shown(copy, mutant))
    return told


def report(mutants: list[Mutant]) -> list[str]:
    """The survivors, then for each module how many were noticed."""
    lines: list[str] = []
    told = [m for m in mutants if not m.words_alone]
    for mutant in told:
        if mutant.status not in KILLED:
            lines += [f"{mutant.status}: {mutant.name}", *(f"    {d}" for d in mutant.diff)]
    noticed = Counter(m.module for m in told if m.status in KILLED)
    for module, count in sorted(Counter(m.module for m in told).items()):
        lines.append(f"{noticed[module]} of {count} noticed: {module}")
    words = len(mutants) - len(told)
    lines.append(f"{noticed.total()} of {len(told)} noticed; {words} more changed words alone")
    return lines


def main(argv: list[str] | None = None, root: Path = ROOT) -> int:
    """Run from the command line; 0 whatever the score, 2 where nothing could be tried."""
    ask = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    ask.add_argument("room", help="folder below gaugebench/; . for gaugebench/ itself")
    ask.add_argument("--files", nargs="*", default=["*.py"], help="only these files of the room")
    ask.add_argument("--tests", nargs="*", help="what to run; by default tests/ROOM")
    ask.add_argument("--draw", type=int, help="try so many, drawn by lot, instead of all")
    ask.add_argument("--seed", type=int, default=1)
    said = ask.parse_args(argv)
    files = [(Path("gaugebench") / said.room / name).as_posix() for name in said.files]
    tests = said.tests or [f"tests/{said.room}"]
    with tempfile.TemporaryDirectory() as folder:
        copied(root, Path(folder), files, tests)
        try:
            mutants = tried(Path(folder), tests, said.draw, said.seed)
        except MutateError as fault:
            print(f"The tests fail without any change, or mutmut is not installed:\n{fault}")
            return 2
    print("\n".join(report(mutants)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
