"""Mutants are found on a tree of two functions, one of them tested well and one badly."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest

CODE = """def doubled(value):
    return value + value


def total(one, two):
    return one + two
"""
TESTS = """from gaugebench.sums.sums import doubled, total


def test_doubled():
    assert doubled(2) == 4


def test_total():
    assert total(3, 0) == 3
"""


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    for name, text in {
        "pyproject.toml": "[tool.pytest.ini_options]\naddopts = ['--import-mode=importlib']\n"
        "markers = ['tools', 'bench', 'compare']\n",
        "gaugebench/__init__.py": "",
        "gaugebench/sums/__init__.py": "",
        "gaugebench/sums/sums.py": CODE,
        "tests/sums/test_sums.py": TESTS,
    }.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def _files(tree: Path) -> dict[Path, bytes]:
    return {p: p.read_bytes() for p in tree.rglob("*") if p.is_file()}


@pytest.mark.tools
def test_a_weak_test_lets_a_mutant_pass_and_a_strong_one_does_not(
    script: Callable[[str], ModuleType], tree: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = _files(tree)
    assert script("mutate").main(["sums"], tree) == 0
    assert capsys.readouterr().out.splitlines() == [
        "survived: gaugebench.sums.sums.x_total__mutmut_1",
        "    -    return one + two",
        "    +    return one - two",
        "1 of 2 noticed: gaugebench.sums.sums",
        "1 of 2 noticed; 0 more changed words alone",
    ]
    assert _files(tree) == before


@pytest.mark.tools
def test_where_the_tests_fail_anyhow_no_score_is_given(
    script: Callable[[str], ModuleType], tree: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tree / "tests" / "sums" / "test_sums.py").write_text(f"{TESTS}    assert False\n")
    assert script("mutate").main(["sums"], tree) == 2
    out = capsys.readouterr().out
    assert out.startswith("The tests fail without any change")
    assert "noticed" not in out


def test_changed_words_are_told_apart(script: Callable[[str], ModuleType]) -> None:
    mutant = script("mutate").Mutant
    for new in ("XXno diskXX", "NO DISK"):
        words = mutant("m.x_f__mutmut_1", "survived", ('-    f("no disk")', f'+    f("{new}")'))
        assert words.words_alone
    for old, new in (("a < b", "a <= b"), ("f(1)", "f(2)"), ("f(a)", "f(None)")):
        assert not mutant("m.x_f__mutmut_1", "survived", (f"-{old}", f"+{new}")).words_alone
