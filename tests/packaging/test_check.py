"""`start.py check`: the parts that CI runs, chosen parts, and where it stops."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture
def start(script: Callable[[str], ModuleType], monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    module = script("start")
    monkeypatch.setattr(module, "install", lambda extras: None)
    return module


@pytest.fixture
def ran(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The last part of each command that would have run; mypy alone fails."""
    commands: list[str] = []

    def run(command: list[str | Path], **_more: str) -> int:
        commands.append(str(command[-1]))
        return int(command[-1] == "mypy")

    monkeypatch.setattr(start, "run", run)
    return commands


def test_chosen_parts_run_in_the_order_asked_for(start: ModuleType, ran: list[str]) -> None:
    assert start.check(["tests", "format"]) == 0
    tests, style = ran
    assert tests.startswith("not tools and not bench")
    assert style == "."


def test_without_a_choice_it_ends_at_the_first_part_that_fails(
    start: ModuleType, ran: list[str]
) -> None:
    assert start.check([]) == 1
    assert ran[-1] == "mypy"
    assert not any(command.startswith("not tools") for command in ran)


def test_ci_runs_every_part_but_further_tools_and_the_search(start: ModuleType) -> None:
    assert set(start.IN_CI) == start.parts().keys() - {"tools", "search"}


def test_a_part_that_does_not_exist_is_named_with_those_that_do(
    start: ModuleType, ran: list[str]
) -> None:
    with pytest.raises(start.SetupError, match=r"“typos”.*style, format, types"):
        start.check(["typos"])
    assert ran == []


@pytest.mark.parametrize(
    ("arguments", "tools", "marks"),
    [
        (["tests/store"], False, ["-m", "not bench and not compare and not tools"]),
        (["tests/store"], True, ["-m", "not bench and not compare"]),
        (["tests/store/test_silx.py::test_it"], False, []),
        (["-m", "bench", "tests"], False, []),
    ],
)
def test_a_folder_runs_without_what_needs_a_tool_and_a_named_test_in_any_case(
    start: ModuleType,
    monkeypatch: pytest.MonkeyPatch,
    arguments: list[str],
    tools: bool,
    marks: list[str],
) -> None:
    ran: list[list[str]] = []

    def run(command: list[str], **_more: str) -> int:
        ran.append(command)
        return 0

    monkeypatch.setattr(start, "run", run)
    assert start.test(arguments, tools=tools) == 0
    assert ran[0][3:] == ["-q", *marks, *arguments]
