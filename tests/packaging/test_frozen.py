"""The frozen program: trimming on a small stand-in, and the whole built and tried as built."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]
pytestmark = pytest.mark.tools


def library(folder: Path, name: str, *needs: str) -> None:
    """A shared library of nothing that names the others as needed."""
    (folder / "x.c").write_text("int nothing;\n", encoding="utf-8")
    command: list[str | Path] = ["cc", "-shared", "-o", folder / name, folder / "x.c"]
    linked = [f"-L{folder}", "-Wl,--no-as-needed", *(f"-l:{need}" for need in needs)]
    subprocess.run([*command, *linked, f"-Wl,-soname,{name}"], check=True)
    (folder / "x.c").unlink()


def test_only_what_nothing_needs_is_trimmed(
    script: Callable[[str], ModuleType], tmp_path: Path
) -> None:
    top = tmp_path / "_internal"
    (top / "qt").mkdir(parents=True)
    library(top, "libbase.so.1")
    library(top, "libmiddle.so.1", "libbase.so.1")
    library(top, "libonly_for_spare.so.1")
    library(top, "libspare.so.1", "libonly_for_spare.so.1")
    library(top, "libpython3.so.1")
    library(top, "plugin.so", "libmiddle.so.1")
    (top / "plugin.so").rename(top / "qt" / "plugin.so")
    (top / "libgone.so.2").symlink_to("qt/nowhere.so")
    assert script("trim").trim(tmp_path) == 3
    assert {p.name for p in top.glob("*.so*")} == {
        "libbase.so.1",
        "libmiddle.so.1",
        "libpython3.so.1",
    }


def test_sizes_are_told_by_part(script: Callable[[str], ModuleType], tmp_path: Path) -> None:
    (tmp_path / "_internal" / "numpy").mkdir(parents=True)
    (tmp_path / "_internal" / "numpy" / "a").write_bytes(b"x" * 30)
    (tmp_path / "_internal" / "libz.so").write_bytes(b"x" * 5)
    (tmp_path / "gaugebench").write_bytes(b"x" * 7)
    found = script("freeze").sizes(tmp_path)
    assert found == {"numpy": 30, "system libraries and the starter": 12}


@pytest.mark.timeout(2400)
def test_the_program_is_built_and_works_as_built(script: Callable[[str], ModuleType]) -> None:
    """One command; it ends well only if the built program did every task of `try_frozen`."""
    done = subprocess.run(
        [sys.executable, ROOT / "packaging" / "freeze.py"],
        capture_output=True,
        text=True,
        timeout=2300,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    program = ROOT / "dist" / "gaugebench"
    assert "GNU LESSER GENERAL PUBLIC LICENSE" in (program / "LICENCES.txt").read_text(
        encoding="utf-8"
    )
    assert not list(program.rglob("*libQt6Quick*"))
    assert sum(script("freeze").sizes(program).values()) < 420e6
