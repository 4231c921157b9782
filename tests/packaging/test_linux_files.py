"""The icon, the desktop entry, the file type and the device rule, read as a desktop reads them."""

from __future__ import annotations

import configparser
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import h5py
import pytest

PACKAGING = Path(__file__).parents[2] / "packaging"
LINUX = PACKAGING / "linux"
TYPE = "application/x-gaugebench-trace"


@pytest.mark.usefixtures("qapp")
def test_the_icons_are_what_the_svg_draws(script: Callable[[str], ModuleType]) -> None:
    from PySide6.QtGui import QImage

    draw = script("draw_icons")
    for size in draw.SIZES:
        kept, drawn = QImage(str(draw.FOLDER / f"{size}.png")), draw.draw(size)
        assert kept.size() == drawn.size()
        middle = size // 2
        for x in range(0, size, max(1, size // 16)):
            one, other = kept.pixelColor(x, middle), drawn.pixelColor(x, middle)
            assert abs(one.red() - other.red()) < 12
            assert abs(one.alpha() - other.alpha()) < 12
        assert kept.pixelColor(0, 0).alpha() == 0


def test_the_desktop_entry_has_what_the_specification_asks() -> None:
    # Desktop Entry Specification: required keys; lists end in a semicolon.
    entry = configparser.ConfigParser(interpolation=None)
    entry.optionxform = str  # type: ignore[method-assign,assignment]  # keys are case-sensitive there
    entry.read(LINUX / "gaugebench.desktop", encoding="utf-8")
    keys = entry["Desktop Entry"]
    assert keys["Type"] == "Application"
    assert keys["Name"] == "Gaugebench"
    assert keys["Exec"].endswith(" %f")
    assert keys["MimeType"] == f"{TYPE};"
    assert keys["Categories"].endswith(";")


@pytest.mark.parametrize(
    ("mark", "expected"), [("gaugebench_format", TYPE), ("other_format", "application/x-hdf")]
)
def test_our_traces_are_told_from_other_files_of_that_ending(
    tmp_path: Path, mark: str, expected: str
) -> None:
    packages = tmp_path / "mime" / "packages"
    packages.mkdir(parents=True)
    (packages / "gaugebench.xml").write_bytes((LINUX / "gaugebench.xml").read_bytes())
    trace = tmp_path / "x.h5"
    with h5py.File(trace, "x") as file:
        file.attrs["NX_class"] = "NXroot"
        file.attrs[mark] = 1
    # Qt reads the shared MIME database once for each process, so a process of its own.
    ask = (
        "import sys; from PySide6.QtCore import QMimeDatabase as D; "
        "print(D().mimeTypeForFile(sys.argv[1]).name())"
    )
    told = subprocess.run(
        [sys.executable, "-c", ask, str(trace)],
        env={**os.environ, "XDG_DATA_HOME": str(tmp_path)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert told.stdout.strip() == expected


def test_the_device_rule_stands_before_the_systems_own() -> None:
    # systemd's 73-seat-late.rules turns the tag into access for who is logged in.
    (rule,) = LINUX.glob("*.rules")
    assert int(rule.name[:2]) < 73
    words = rule.read_text(encoding="utf-8")
    (line,) = [line for line in words.splitlines() if not line.startswith("#")]
    # udev(7): comma-separated KEY operator "value".
    for part in line.split(", "):
        assert re.fullmatch(r'[A-Z]+(==|\+=)"[^"]+"', part), part
    assert 'TAG+="uaccess"' in line
