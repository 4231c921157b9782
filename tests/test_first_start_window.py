"""Before the first window: each thing that Qt would end the program for is told in one sentence."""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest

from gaugebench import first_start
from gaugebench.errors import DeskError

START = Path(__file__).parents[1] / "packaging" / "start.py"
X11 = {"DISPLAY": ":0"}
WAYLAND = {"WAYLAND_DISPLAY": "wayland-0"}


def everything(_library: str) -> bool:
    return True


def sentence(environment: Mapping[str, str], *, without: str = "", answers: bool = True) -> str:
    """What is said on Linux in this environment, without a library; empty where all is well."""
    try:
        first_start.check_window(
            environment, "linux", lambda library: library != without, lambda _display: answers
        )
    except DeskError as fault:
        return str(fault)
    return ""


def test_no_screen_is_told_with_what_works_without() -> None:
    assert sentence({}).startswith("There is no screen")
    assert "gaugebench --help" in sentence({})


def test_a_screen_that_refuses_is_named() -> None:
    assert "“:7”" in sentence({"DISPLAY": ":7"}, answers=False)
    assert sentence(X11) == ""


@pytest.mark.parametrize(
    ("library", "package"), [*first_start.DRAWING.items(), *first_start.WINDOW.items()]
)
def test_each_missing_library_is_told_by_the_package_that_brings_it(
    library: str, package: str
) -> None:
    assert sentence(X11, without=library).endswith(f"sudo apt-get install {package}")


def test_wayland_and_drawing_in_memory_need_no_x11_libraries() -> None:
    assert sentence(WAYLAND, without="libxcb-cursor.so.0", answers=False) == ""
    assert sentence({"QT_QPA_PLATFORM": "offscreen"}, without="libxcb-cursor.so.0") == ""
    assert sentence({"QT_QPA_PLATFORM": "offscreen"}, without="libEGL.so.1").endswith("libegl1")
    assert "libxcb-cursor0" in sentence(
        {**WAYLAND, **X11, "QT_QPA_PLATFORM": "xcb"}, without="libxcb-cursor.so.0"
    )


def test_a_library_is_looked_for_in_the_system() -> None:
    assert first_start.loads("libc.so.6")
    assert not first_start.loads("libnobody-has-it.so.9")


def test_a_screen_that_is_not_there_lets_nobody_in(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DISPLAY", ":4242")
    assert not first_start.answers(":4242")


def test_other_systems_are_not_asked() -> None:
    first_start.check_window({}, "win32", lambda _library: False)
    first_start.check_drawing("darwin", lambda _library: False)


def test_the_set_up_script_asks_for_the_same_packages() -> None:
    spec = importlib.util.spec_from_file_location("start_for_comparison", START)
    assert spec is not None
    assert spec.loader is not None
    start = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(start)
    assert set(start.DRAWING.values()) == set(first_start.DRAWING.values())
    assert set(start.WINDOW.values()) == set(first_start.WINDOW.values())


def test_a_screen_that_is_not_there_is_found_out_without_qt() -> None:
    """As a program of its own, with the system's own libraries and a display that nobody serves."""
    code = (
        "import sys\n"
        "from gaugebench import errors, first_start\n"
        "try:\n"
        "    first_start.check_window(has=lambda library: True)\n"
        "except errors.DeskError as fault:\n"
        "    print(fault)\n"
        "print('PySide6' in sys.modules)\n"
    )
    kept = {k: v for k, v in os.environ.items() if k not in {"WAYLAND_DISPLAY", "QT_QPA_PLATFORM"}}
    told = subprocess.run(
        [sys.executable, "-c", code],
        env={**kept, "DISPLAY": ":4711"},
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    ).stdout.splitlines()
    assert len(told) == 2
    assert "“:4711”" in told[0]
    assert told[1] == "False"
