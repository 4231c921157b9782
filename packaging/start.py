#!/usr/bin/env python3
"""Set Gaugebench up on a fresh machine and run it. Needs Python 3.11 or newer and nothing else.

    python3 packaging/start.py demo      run the main job on a simulated machine
    python3 packaging/start.py test      check everything: style, types, import rules, tests
    python3 packaging/start.py desk      open the desk
    python3 packaging/start.py run ...   run a gaugebench command, for example: run ports
    python3 packaging/start.py check     what CI runs; `check types tests` runs only those parts
    python3 packaging/start.py bench     measure, and write the table build/bench.md;
                                         `bench --list` shows its parts, which can be chosen
    python3 packaging/start.py setup     only set up

The first start makes an environment in .venv beside this project, with the versions pinned in
packaging/constraints.txt. A further start with nothing changed installs nothing.
"""

from __future__ import annotations

import argparse
import ctypes.util
import hashlib
import os
import platform
import shutil
import subprocess
import sys
import venv
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv"
CONSTRAINTS = ROOT / "packaging" / "constraints.txt"
WINDOWS = platform.system() == "Windows"
BIN = ENVIRONMENT / ("Scripts" if WINDOWS else "bin")
PYTHON = BIN / ("python.exe" if WINDOWS else "python")

# What Qt needs from Debian: the library, and the package that brings it. The second group is
# only for a window on a screen; the first is needed to draw at all.
DRAWING = {
    "GL": "libgl1",
    "EGL": "libegl1",
    "glib-2.0": "libglib2.0-0",
    "fontconfig": "libfontconfig1",
    "dbus-1": "libdbus-1-3",
    "xkbcommon": "libxkbcommon0",
}
WINDOW = {
    "xcb-cursor": "libxcb-cursor0",
    "xkbcommon-x11": "libxkbcommon-x11-0",
    "xcb-icccm": "libxcb-icccm4",
    "xcb-image": "libxcb-image0",
    "xcb-keysyms": "libxcb-keysyms1",
    "xcb-render-util": "libxcb-render-util0",
    "xcb-shape": "libxcb-shape0",
    "X11-xcb": "libx11-xcb1",
}


class SetupError(Exception):
    """Something that the user must do first, in one sentence."""


def tell(text: str) -> None:
    """Say how it goes, aside of what a command prints: that may be on its way into a file."""
    print(text, file=sys.stderr, flush=True)


def run(command: Sequence[str | Path], **more: str) -> int:
    """Run a command in the project's folder with `more` added to the environment."""
    return subprocess.run(command, cwd=ROOT, env={**os.environ, **more}, check=False).returncode


def is_debian_root() -> bool:
    """Whether system packages can be installed here without asking anyone."""
    return not WINDOWS and shutil.which("apt-get") is not None and os.geteuid() == 0


def install_debian(packages: list[str]) -> None:
    """Install Debian packages as root."""
    tell(f"Installing {', '.join(packages)} …")
    install = ["apt-get", "install", "-y", "-qq", "--no-install-recommends", *packages]
    for command in (["apt-get", "update", "-qq"], install):
        done = subprocess.run(
            command,
            env={**os.environ, "DEBIAN_FRONTEND": "noninteractive"},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            check=False,
        )
    if done.returncode != 0:
        tell(done.stdout)
        raise SetupError(f"apt-get could not install {' '.join(packages)}; see its message above.")


def system_libraries() -> None:
    """See that Qt finds its system libraries (Linux); install or name what is missing."""
    if platform.system() != "Linux":
        return
    wanted = DRAWING | WINDOW
    missing = [package for name, package in wanted.items() if not _has_library(name)]
    if not missing:
        return
    if is_debian_root():
        install_debian(missing)
        return
    command = f"sudo apt-get install {' '.join(missing)}"
    needed = [p for n, p in DRAWING.items() if not _has_library(n)]
    if needed:
        raise SetupError(f"Qt needs system libraries that are missing; on Debian run: {command}")
    tell(f"Note: a window on a screen needs more libraries; on Debian run: {command}")


def _has_library(name: str) -> bool:
    # find_library asks ldconfig, which is not on every user's PATH.
    if ctypes.util.find_library(name):
        return True
    folders = ("/lib", "/usr/lib", f"/usr/lib/{platform.machine()}-linux-gnu", "/usr/lib64")
    return any(next(Path(f).glob(f"lib{name}.so*"), None) for f in folders if Path(f).is_dir())


def make_environment() -> None:
    """Make .venv if there is none that works."""
    if PYTHON.exists() and run([PYTHON, "-c", "import pip"]) == 0:
        return
    tell("Making the environment in .venv …")
    try:
        venv.create(ENVIRONMENT, with_pip=True, clear=ENVIRONMENT.exists())
    except (subprocess.CalledProcessError, ImportError, SystemExit, OSError) as fault:
        # Debian keeps ensurepip in a package of its own.
        if not is_debian_root():
            raise SetupError(
                "Python cannot make environments here; on Debian run: "
                "sudo apt-get install python3-venv"
            ) from fault
        install_debian(["python3-venv"])
        # A new process: this one has already looked for ensurepip in vain.
        if run([sys.executable, "-m", "venv", "--clear", ENVIRONMENT]) != 0:
            raise SetupError("The environment could not be made; see the message above.") from fault


def fingerprint(extras: str) -> str:
    """Of all that decides what is installed."""
    digest = hashlib.sha256()
    for part in (ROOT / "pyproject.toml", CONSTRAINTS):
        digest.update(part.read_bytes())
    digest.update(f"{sys.version} {ROOT} {extras}".encode())
    return digest.hexdigest()


def install(extras: str) -> None:
    """Install the project, editable, with the pinned dependencies; nothing where it stands."""
    stamp = ENVIRONMENT / f"installed{'-' + extras if extras else ''}.txt"
    wanted = fingerprint(extras)
    if stamp.exists() and stamp.read_text(encoding="utf-8") == wanted and PYTHON.exists():
        return
    system_libraries()
    make_environment()
    tell("Installing Gaugebench and what it needs (pinned) …")
    target = f"{ROOT}[{extras}]" if extras else str(ROOT)
    command: list[str | Path] = [
        PYTHON,
        "-m",
        "pip",
        "install",
        "--quiet",
        "--disable-pip-version-check",
    ]
    if run([*command, "--constraint", CONSTRAINTS, "--editable", target]) != 0:
        raise SetupError(
            "pip could not install what is needed; see its message above and check the connection."
        )
    stamp.write_text(wanted, encoding="utf-8")


def offscreen() -> dict[str, str]:
    """Qt without a screen, for tests."""
    return {"QT_QPA_PLATFORM": "offscreen"}


def parts() -> dict[str, list[str | Path]]:
    """What `check` runs, by name, in the order in which faults are cheapest to find."""
    pytest: list[str | Path] = [PYTHON, "-m", "pytest", "-q"]
    every_core = ["-n", "auto", "--dist", "worksteal"]  # what a test needs, it makes for itself
    return {
        "style": [PYTHON, "-m", "ruff", "check", "."],
        "format": [PYTHON, "-m", "ruff", "format", "--check", "."],
        "types": [PYTHON, "-m", "mypy"],
        "imports": [BIN / "lint-imports"],
        "audit": [PYTHON, ROOT / "packaging" / "audit.py"],
        "tests": [*pytest, *every_core, "-m", "not tools and not bench and not compare"],
        "tools": [*pytest, "-m", "tools"],
        "search": [*pytest, "--timeout=1800", "-m", "hypothesis and not bench and not compare"],
    }


IN_CI = ("style", "format", "types", "imports", "audit", "tests")
STATIC = IN_CI[:-1]


def check(names: Sequence[str]) -> int:
    """Run these parts, or those that CI runs; the first that fails ends it."""
    known = parts()
    for name in names:
        if name not in known:
            raise SetupError(f"There is no part “{name}”; the parts are {', '.join(known)}.")
    chosen = names or IN_CI
    install("dev,tools" if "tools" in chosen else "dev")
    for name in chosen:
        print(f"== {name.capitalize()}", flush=True)
        searching = {"GAUGEBENCH_SEARCH": "1"} if name == "search" else {}
        if status := run(known[name], **offscreen(), **searching):
            return status
    return 0


def test(arguments: list[str], *, tools: bool) -> int:
    """The checks, then pytest, whose closing line ends the output; or pytest alone on `arguments`.

    A file or folder is run as `check tests` would run it; a test that is named is run in any case.
    """
    if arguments:
        install("dev,tools" if tools else "dev")
        chosen = ["-m", "not bench and not compare" + ("" if tools else " and not tools")]
        if "-m" in arguments or any("::" in argument for argument in arguments):
            chosen = []
        return run([PYTHON, "-m", "pytest", "-q", *chosen, *arguments], **offscreen())
    return check([*STATIC, "tools"] if tools else IN_CI)


def bench(arguments: list[str], *, compare: bool) -> int:
    """The measurements, part by part; `bench.py` says what can be asked for."""
    install("dev,compare" if compare else "dev")
    command: list[str | Path] = [PYTHON, ROOT / "packaging" / "bench.py", *arguments]
    if compare:
        command.append("--compare")
    with subprocess.Popen(command, cwd=ROOT, env={**os.environ, **offscreen()}) as measuring:
        while True:
            try:
                return measuring.wait()
            except KeyboardInterrupt:  # it was told as well, and writes down what it has
                continue


def gaugebench(arguments: list[str]) -> int:
    """Run a gaugebench command in the folder that the user stands in: that is where files lie."""
    install("")
    return subprocess.run([BIN / "gaugebench", *arguments], check=False).returncode


def main() -> int:
    """Read the command line."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("what", choices=["demo", "test", "check", "bench", "desk", "run", "setup"])
    parser.add_argument("--tools", action="store_true", help="test: those that need a further tool")
    parser.add_argument("--compare", action="store_true", help="bench: against other libraries")
    if sys.argv[1:2] == ["run"]:  # all that follows is the command's own, --help too
        return gaugebench(sys.argv[2:])
    options, rest = parser.parse_known_args()
    match options.what:
        case "demo":
            return gaugebench(["demo", *rest])
        case "test":
            return test(rest, tools=options.tools)
        case "check":
            return check(rest)
        case "bench":
            return bench(rest, compare=options.compare)
        case "desk":
            return gaugebench([])
        case _:
            install("")
            return 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except SetupError as fault:
        print(fault, file=sys.stderr)
        sys.exit(1)
    except KeyboardInterrupt:
        sys.exit(130)
