"""The wheel, installed where nothing of the project is: program, drivers, pages and types."""

from __future__ import annotations

import json
import subprocess
import sys
import venv
import zipfile
from email.parser import HeaderParser
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PIP = ("-m", "pip", "--quiet", "--disable-pip-version-check", "--no-input")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, *PIP, "wheel", "--no-deps", "--wheel-dir", folder, ROOT],
        check=True,
        timeout=300,
    )
    (made,) = folder.glob("*.whl")
    return made


@pytest.fixture(scope="module")
def home(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The scripts' folder of a fresh environment with the wheel and its pinned dependencies."""
    folder = tmp_path_factory.mktemp("fresh")
    venv.create(folder, with_pip=True)
    constraints = ROOT / "packaging" / "constraints.txt"
    subprocess.run(
        [folder / "bin" / "python", *PIP, "install", "--constraint", constraints, wheel],
        check=True,
        timeout=900,
    )
    return folder / "bin"


def run(home: Path, *arguments: str, folder: Path) -> str:
    done = subprocess.run(
        [home / "gaugebench", *arguments],
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=100,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.tools
@pytest.mark.timeout(400)
def test_it_holds_the_program_and_nothing_besides(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
        (information,) = (n for n in names if n.endswith(".dist-info/METADATA"))
        fields = HeaderParser().parsestr(archive.read(information).decode("utf-8"))
    assert {name.partition("/")[0] for name in names} == {
        "gaugebench",
        "gaugebench_drivers",
        f"gaugebench-{fields['Version']}.dist-info",
    }
    assert {"gaugebench/py.typed", "gaugebench_drivers/py.typed"} <= set(names)
    kept = {
        path.relative_to(ROOT).as_posix().removeprefix("drivers/")
        for room in ("gaugebench", "drivers/gaugebench_drivers")
        for ending in ("py", "md", "svg", "toml")
        for path in (ROOT / room).rglob(f"*.{ending}")
    }
    assert kept <= set(names)
    assert fields["License-Expression"] == "MIT"
    assert any(name.endswith(".dist-info/licenses/LICENSE") for name in names)


@pytest.mark.tools
@pytest.mark.timeout(1200)
def test_installed_afresh_it_lists_its_drivers_and_takes_figures(
    home: Path, wheel: Path, tmp_path: Path
) -> None:
    assert wheel.name.split("-")[1] in run(home, "--version", folder=tmp_path)
    listed = run(home, "drivers", folder=tmp_path)
    for driver in ("text-lines:", "framed-binary:", "practice:"):
        assert driver in listed
    rows = ["time [s],pump1.main [bar]"]
    rows += [
        f"{k / 100:.2f},{25 + 300 * (200 < k < 700) + 0.05 * (k % 5):.3f}" for k in range(1000)
    ]
    (tmp_path / "log.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    found = json.loads(run(home, "figures", "log.csv", "--json", folder=tmp_path))
    (loading,) = found["loadings"]
    assert abs(loading["pumps"]["1"]["settled_pa"] - 325.1e5) < 0.2e5


@pytest.mark.tools
@pytest.mark.timeout(1200)
def test_its_types_are_seen_by_a_checker(home: Path, tmp_path: Path) -> None:
    """PEP 561: a plugin's author gets the contract's types from the installed package."""
    plugin = tmp_path / "plugin.py"
    right = (
        "from typing import assert_type\n"
        "from gaugebench.driver import PortOptions\n"
        "from gaugebench_drivers.text_lines import DRIVER\n"
        "assert_type(PortOptions(port='COM7').port, str)\n"
    )

    def check(text: str) -> subprocess.CompletedProcess[str]:
        plugin.write_text(text, encoding="utf-8")
        command: list[str | Path] = [
            sys.executable,
            "-m",
            "mypy",
            "--strict",
            "--python-executable",
            home / "python",
        ]
        return subprocess.run(
            [*command, plugin], cwd=tmp_path, capture_output=True, text=True, timeout=300
        )

    told = check(right)
    assert told.returncode == 0, told.stdout
    told = check(f"{right}wrong: int = DRIVER.name\n")
    assert "[assignment]" in told.stdout
