"""The set-up script: what it installs, when, and what it says where it cannot."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

SCRIPT = Path(__file__).parents[2] / "packaging" / "start.py"


@pytest.fixture
def start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The script as a module, on a project of its own that holds only what decides the set-up."""
    spec = importlib.util.spec_from_file_location("start_under_test", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    (tmp_path / "pyproject.toml").write_text("[project]\n", encoding="utf-8")
    (tmp_path / "constraints.txt").write_text("numpy==2\n", encoding="utf-8")
    environment = tmp_path / ".venv"
    environment.mkdir()
    python = environment / "python"
    python.write_text("", encoding="utf-8")
    for name, value in {
        "ROOT": tmp_path,
        "CONSTRAINTS": tmp_path / "constraints.txt",
        "ENVIRONMENT": environment,
        "PYTHON": python,
    }.items():
        monkeypatch.setattr(module, name, value)
    return module


@pytest.fixture
def ran(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """The commands that the script would have run; all succeed."""
    commands: list[list[str]] = []

    def run(command: list[str | Path], **_more: str) -> int:
        commands.append([str(part) for part in command])
        return 0

    monkeypatch.setattr(start, "run", run)
    monkeypatch.setattr(start, "system_libraries", lambda: None)
    return commands


def test_a_second_start_with_nothing_changed_installs_nothing(
    start: ModuleType, ran: list[list[str]]
) -> None:
    start.install("")
    assert any("--editable" in command for command in ran)
    ran.clear()
    start.install("")
    assert ran == []


@pytest.mark.parametrize("changed", ["pyproject.toml", "constraints.txt"])
def test_a_change_of_what_is_needed_installs_again(
    start: ModuleType, ran: list[list[str]], changed: str
) -> None:
    start.install("dev")
    ran.clear()
    (start.ROOT / changed).write_text("other\n", encoding="utf-8")
    start.install("dev")
    assert any("--editable" in command for command in ran)


def test_the_tests_needs_are_installed_apart_from_the_program(
    start: ModuleType, ran: list[list[str]]
) -> None:
    start.install("")
    ran.clear()
    start.install("dev")
    assert any(command[-1].endswith("[dev]") for command in ran)


def test_an_install_that_fails_is_tried_again_next_time(
    start: ModuleType, ran: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(start, "run", lambda command, **_more: int("install" in command))
    with pytest.raises(start.SetupError, match="pip could not install"):
        start.install("")
    assert not list(start.ENVIRONMENT.glob("installed*"))


def test_missing_libraries_are_named_where_they_cannot_be_installed(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(start.platform, "system", lambda: "Linux")
    monkeypatch.setattr(start, "_has_library", lambda name: name != "EGL")
    monkeypatch.setattr(start, "is_debian_root", lambda: False)
    with pytest.raises(start.SetupError, match="sudo apt-get install libegl1"):
        start.system_libraries()


def test_only_what_is_missing_is_installed_as_root(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    installed: list[str] = []
    monkeypatch.setattr(start.platform, "system", lambda: "Linux")
    monkeypatch.setattr(start, "_has_library", lambda name: name != "xcb-cursor")
    monkeypatch.setattr(start, "is_debian_root", lambda: True)
    monkeypatch.setattr(start, "install_debian", installed.extend)
    start.system_libraries()
    assert installed == ["libxcb-cursor0"]


@pytest.mark.parametrize(
    ("windows", "apt", "user", "is_root"),
    [
        (False, "/usr/bin/apt-get", 0, True),
        (False, "/usr/bin/apt-get", 1000, False),
        (False, None, 0, False),
        (True, "/usr/bin/apt-get", 0, False),
    ],
)
def test_packages_are_installed_by_root_on_debian_alone(
    start: ModuleType,
    monkeypatch: pytest.MonkeyPatch,
    windows: bool,
    apt: str | None,
    user: int,
    is_root: bool,
) -> None:
    monkeypatch.setattr(start, "WINDOWS", windows)
    monkeypatch.setattr(start.shutil, "which", lambda _name: apt)
    monkeypatch.setattr(start.os, "geteuid", lambda: user)
    assert start.is_debian_root() is is_root


@pytest.fixture
def without_ensurepip(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """A Python that cannot make environments, as Debian's; what is installed to mend it."""
    installed: list[str] = []

    def create(*_arguments: object, **_more: object) -> None:
        raise ImportError("no ensurepip")

    monkeypatch.setattr(start.venv, "create", create)
    monkeypatch.setattr(start, "install_debian", installed.extend)
    start.PYTHON.unlink()
    return installed


def test_where_python_makes_no_environments_the_package_is_named(
    start: ModuleType, without_ensurepip: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(start, "is_debian_root", lambda: False)
    with pytest.raises(start.SetupError, match="sudo apt-get install python3-venv"):
        start.make_environment()
    assert without_ensurepip == []


@pytest.mark.parametrize("status", [0, 1])
def test_root_gets_the_package_and_a_new_try(
    start: ModuleType,
    without_ensurepip: list[str],
    monkeypatch: pytest.MonkeyPatch,
    status: int,
) -> None:
    monkeypatch.setattr(start, "is_debian_root", lambda: True)
    monkeypatch.setattr(start, "run", lambda *_, **__: status)
    if status:
        with pytest.raises(start.SetupError, match="could not be made"):
            start.make_environment()
    else:
        start.make_environment()
    assert without_ensurepip == ["python3-venv"]


def test_every_pin_is_exact() -> None:
    lines = (SCRIPT.parent / "constraints.txt").read_text(encoding="utf-8").splitlines()
    assert lines
    assert all("==" in line and "://" not in line for line in lines)


def test_a_command_runs_where_the_user_stands(
    start: ModuleType, ran: list[list[str]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here = tmp_path / "visits"
    here.mkdir()
    monkeypatch.chdir(here)
    tool = tmp_path / "gaugebench"
    tool.write_text("#!/bin/sh\npwd > where.txt\n", encoding="utf-8")
    tool.chmod(0o755)
    monkeypatch.setattr(start, "BIN", tmp_path)
    assert start.gaugebench(["ports"]) == 0
    assert (here / "where.txt").exists()
