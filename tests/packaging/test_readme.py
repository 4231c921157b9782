"""README.md is followed to the letter, in a folder that holds what a clone holds."""

from __future__ import annotations

import contextlib
import io
import re
import shlex
import sys
from pathlib import Path

import pytest

from gaugebench import cli

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
START = "python3 packaging/start.py"
ELSEWHERE = {
    "desk": "opens a window",
    "demo": "tests/test_security_network.py runs it",
    "test": "it runs this",
}
"""What is not run here, and why."""
SLOW = ("run visit", "run report")
"""Minutes on a busy machine; tests/report works the same visit."""


def commands() -> list[str]:
    """Every command of the page after `start.py`, without what explains it."""
    found = re.findall(rf"`?{START} ([^`\n]+)", README)
    return [re.split(r"\s{3,}", text)[0].rstrip(" `") for text in found]


def call(arguments: list[str]) -> tuple[int, str]:
    """Exit status and output of a gaugebench command."""
    out = io.StringIO()
    with pytest.MonkeyPatch.context() as patch, contextlib.redirect_stdout(out):
        patch.setattr(sys, "argv", ["gaugebench", *arguments])
        with pytest.raises(SystemExit) as ended:
            cli.main()
    assert isinstance(ended.value.code, int)
    return ended.value.code, out.getvalue()


def test_every_command_runs_as_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("sample_traces", "drivers"):
        (tmp_path / name).symlink_to(ROOT / name)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    ran = []
    for command in commands():
        kind, *arguments = shlex.split(command.replace("KIT.toml", "drivers/examples/replay.toml"))
        if kind in ELSEWHERE or command.startswith(SLOW):
            continue
        assert kind == "run", command
        if arguments[0] == "listen":  # until it is stopped
            arguments = ["record", *arguments[1:], "--out", "listened.h5", "--seconds", "1"]
        if arguments[0] == "record":
            arguments[arguments.index("--seconds") + 1] = "1"
        target = None
        if ">" in arguments:
            target = tmp_path / arguments[-1]
            arguments = arguments[: arguments.index(">")]
        status, out = call(arguments)
        assert status == 0, command
        if target is not None:
            target.write_text(out, encoding="utf-8")
        ran.append(arguments[0])
    assert len(ran) >= 12
    assert {"visit.h5", "as_found.h5", "machine.toml", "practice.h5", "practice.truth.json"} <= {
        path.name for path in tmp_path.iterdir()
    }


@pytest.mark.parametrize("command", [c for c in commands() if c.startswith(SLOW)])
def test_a_slow_command_is_one(command: str) -> None:
    _, name, *arguments = shlex.split(command)
    status, out = call([name, "--help"])
    assert status == 0
    assert all(a in out for a in arguments if a.startswith("--"))


def test_every_place_has_a_picture_that_is_there() -> None:
    pictures = re.findall(r"!\[[^\]]{10,}\]\(([^)]+)\)", README)
    assert len(pictures) == 5
    assert all((ROOT / path).is_file() for path in pictures)


def test_what_is_shown_as_a_file_is_there() -> None:
    named = re.findall(r"`((?:drivers|packaging|sample_traces)/[\w./]+)`", README)
    assert named
    assert all((ROOT / path).exists() for path in named)
