"""A first start where things are odd: no home, a home that cannot be written, other languages.

Each runs the program as a process of its own, as a person would.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

RUN = "from gaugebench.cli import main; main()"
KIT = """schema = 1
name = "Übung"
simulated = true
[[source]]
driver = "practice"
[[source.channel]]
input = "p1"
role = "pump1.main"
signal = "0.5-4.5 V"
range = ["0 bar", "600 bar"]
"""
PLACES = {
    "none": {"HOME": "/nonexistent"},
    "not to be written": {"HOME": "/proc/self"},
    "German": {"LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8"},
    "plain C": {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"},
    "Japanese": {"LC_ALL": "ja_JP.eucJP", "LANG": "ja_JP.eucJP"},
    "an encoding that cannot say °": {"PYTHONIOENCODING": "ascii"},
    "a user in Cyrillic": {"USER": "юрий", "LOGNAME": "юрий"},
}
ODD_NAME = "two spaces Прайс 日本の鉱山 a'b;c$d%20 🚜"


def run(
    *arguments: str, place: dict[str, str] | None = None, folder: Path | None = None
) -> tuple[int, str, str]:
    """Status, standard output and standard error of a command."""
    done = subprocess.run(
        [sys.executable, "-c", RUN, *arguments],
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen", **(place or {})},
        cwd=folder,
        capture_output=True,
        timeout=100,
    )
    return done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8")


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Ten seconds at 100 Hz of one pump driven from 2.5 to 32.5 MPa and let go."""
    path = tmp_path_factory.mktemp("table") / "log.csv"
    rows = ["time [s],pump1.main [MPa]"]
    for k in range(1000):
        t = k / 100
        level = min(max((t - 2) / 0.5, 0.0), 1.0) - min(max((t - 7) / 0.3, 0.0), 1.0)
        rows.append(f"{t:.2f},{2.5 + 30 * level + 0.004 * (k % 5):.4f}")
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def usual(table: Path) -> str:
    status, out, err = run("figures", str(table))
    assert (status, err) == (0, "")
    assert "325" in out
    return out


@pytest.mark.parametrize("name", PLACES)
def test_figures_are_the_same_anywhere(name: str, table: Path, usual: str) -> None:
    status, out, err = run("figures", str(table), place=PLACES[name])
    assert (status, err) == (0, "")
    if name.startswith("an encoding"):
        assert out.encode("ascii", "replace") == usual.encode("ascii", "replace")
    else:
        assert out == usual


def test_a_record_is_made_and_read_in_a_folder_of_any_name(tmp_path: Path) -> None:
    folder = tmp_path / ODD_NAME
    folder.mkdir()
    (folder / f"{ODD_NAME}.toml").write_text(KIT, encoding="utf-8")
    wanted = ("--kit", f"{ODD_NAME}.toml", "--out", f"{ODD_NAME}.h5", "--seconds", "0.3")
    status, _, err = run("record", *wanted, folder=folder)
    assert status == 0, err
    assert [p.name for p in folder.glob("*.h5")] == [f"{ODD_NAME}.h5"]
    status, out, err = run("figures", f"{ODD_NAME}.h5", "--json", folder=folder)
    assert (status, err) == (0, "")
    assert json.loads(out)["schema"] == 1


@pytest.mark.parametrize("name", ["not to be written", "German"])
def test_a_record_is_made_whatever_the_home(name: str, tmp_path: Path) -> None:
    (tmp_path / "kit.toml").write_text(KIT, encoding="utf-8")
    wanted = ("--kit", "kit.toml", "--out", "x.h5", "--seconds", "0.3")
    status, _, err = run("record", *wanted, place=PLACES[name], folder=tmp_path)
    assert status == 0, err
    assert (tmp_path / "x.h5").is_file()


def test_a_place_that_cannot_be_written_is_told_in_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "kit.toml").write_text(KIT, encoding="utf-8")
    wanted = ("--kit", "kit.toml", "--out", "/proc/x.h5", "--seconds", "0.3")
    status, out, err = run("record", *wanted, folder=tmp_path)
    assert (status, out) == (1, "")
    assert "Traceback" not in err
    assert "/proc" in err.strip().splitlines()[-1]


def test_a_port_that_may_not_be_opened_is_told_in_one_sentence(tmp_path: Path) -> None:
    kit = KIT.replace(
        'driver = "practice"', 'driver = "text-lines"\noptions = {port = "/dev/none"}'
    )
    (tmp_path / "kit.toml").write_text(kit, encoding="utf-8")
    status, _, err = run("record", "--kit", "kit.toml", "--out", "x.h5", folder=tmp_path)
    assert status == 1
    assert len(err.strip().splitlines()) == 1
    assert "/dev/none" in err


@pytest.mark.tools
def test_a_comma_locale_in_the_c_library_changes_no_number(
    table: Path, usual: str, tmp_path: Path
) -> None:
    """Qt sets the process's locale from the environment; libraries in C then read “1,5”."""
    made = tmp_path / "de_DE.UTF-8"
    subprocess.run(["localedef", "-i", "de_DE", "-f", "UTF-8", made], check=True, timeout=60)
    code = (
        "import locale\n"
        "locale.setlocale(locale.LC_ALL, '')\n"
        "assert locale.localeconv()['decimal_point'] == ','\n"
        f"{RUN}"
    )

    def under_comma(*arguments: str) -> str:
        done = subprocess.run(
            [sys.executable, "-c", code, *arguments],
            env={**os.environ, "LOCPATH": str(tmp_path), "LC_ALL": "de_DE.UTF-8"},
            cwd=tmp_path,
            capture_output=True,
            timeout=100,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout.decode("utf-8")

    assert under_comma("figures", str(table)) == usual
    under_comma("convert", str(table), "x.h5")
    under_comma("convert", "x.h5", "x.csv")
    assert under_comma("figures", "x.csv") == under_comma("figures", "x.h5")
    assert "325" in under_comma("figures", "x.csv")
