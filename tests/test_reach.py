"""Every module of the program is reached from one of its doors, or it is dead or unfinished."""

from __future__ import annotations

import tomllib
from pathlib import Path

import grimp

PROJECT = Path(__file__).parents[1] / "pyproject.toml"
FOR_OTHERS = {
    "gaugebench_drivers.conformance": "for whoever writes a driver",
    "gaugebench.analyse.risk": "what a rule costs over many machines: for whoever chooses the rule",
}
"""What no door leads to, and why it stands all the same."""


def doors() -> set[str]:
    """The modules that are started from outside: the command, and each driver."""
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]
    groups = (project["scripts"], *project["entry-points"].values())
    return {entry.partition(":")[0] for group in groups for entry in group.values()}


def test_every_module_is_reached() -> None:
    graph = grimp.build_graph(
        "gaugebench",
        "gaugebench_drivers",
        exclude_type_checking_imports=True,
        cache_dir=None,
    )
    reached = set(doors())
    for door in doors():
        assert door in graph.modules
        reached |= graph.find_upstream_modules(door)
    folders = {name.rpartition(".")[0] for name in reached} | {"gaugebench_drivers"}
    unreached = {m for m in graph.modules - reached if not any(f"{m}." in f"{x}." for x in folders)}
    assert unreached == FOR_OTHERS.keys()
