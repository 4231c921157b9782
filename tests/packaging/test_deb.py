"""The Debian package of a small stand-in for the frozen folder, read by Debian's own tools."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest

pytestmark = pytest.mark.tools


@pytest.fixture
def package(script: Callable[[str], ModuleType], tmp_path: Path) -> Path:
    program = tmp_path / "gaugebench"
    inner = program / "_internal"
    inner.mkdir(parents=True)
    (program / "gaugebench").write_text("#!/bin/sh\necho gaugebench 0\n", encoding="utf-8")
    (program / "gaugebench").chmod(0o700)
    (program / "LICENCES.txt").write_text("MIT\n", encoding="utf-8")
    (inner / "libx.so.1").write_bytes(b"x" * 5000)
    (inner / "libx.so").symlink_to("libx.so.1")
    assert script("deb").main([str(program), str(tmp_path)]) == 0
    (made,) = tmp_path.glob("*.deb")
    return made


def ask(*command: str | Path) -> str:
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def test_its_fields_are_read_by_dpkg(package: Path) -> None:
    fields = ask("dpkg-deb", "--field", package)
    assert "Package: gaugebench\n" in fields
    assert "libegl1" in fields
    size = int(ask("dpkg-deb", "--field", package, "Installed-Size"))
    assert size >= 5


def test_everything_lies_where_a_desktop_looks_and_can_be_read_by_all(
    package: Path, tmp_path: Path
) -> None:
    root = tmp_path / "root"
    ask("dpkg-deb", "--extract", package, root)
    command = root / "usr/bin/gaugebench"
    assert ask(command) == "gaugebench 0\n"
    share = root / "usr/share"
    for size in (16, 256):
        assert (share / f"icons/hicolor/{size}x{size}/apps/gaugebench.png").is_file()
    assert (share / "doc/gaugebench/copyright").read_text(encoding="utf-8") == "MIT\n"
    assert (root / "usr/lib/udev/rules.d/70-gaugebench.rules").is_file()
    assert (root / "usr/lib/gaugebench/_internal/libx.so").is_symlink()
    for path in root.rglob("*"):
        if not path.is_symlink():
            mode = path.stat().st_mode
            assert mode & 0o044 == 0o044, path
            assert mode & 0o022 == 0, path
    assert os.access(root / "usr/lib/gaugebench/gaugebench", os.X_OK)


def test_its_files_belong_to_root(package: Path) -> None:
    lines = ask("dpkg-deb", "--contents", package).splitlines()
    assert lines
    assert all(line.split()[1] == "root/root" for line in lines)
