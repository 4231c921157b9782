"""Which installed distributions a project needs, read from their own metadata."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from importlib import metadata

_REQUIREMENT = re.compile(r"^\s*([A-Za-z0-9][A-Za-z0-9._-]*)\s*(?:\[([^\]]*)\])?")
_EXTRA = re.compile(r"""extra\s*==\s*['"]([^'"]+)['"]""")


def normal(name: str) -> str:
    """A distribution's name in the one spelling by which names are compared."""
    return re.sub(r"[-_.]+", "-", name).lower()


def needed(root: str, extras: Iterable[str] = ()) -> dict[str, metadata.Distribution]:
    """`root` and all that it needs, by normal name, sorted.

    A requirement behind an extra counts only where that extra is asked for. A requirement that is
    not installed is left out: its marker speaks of another system or another Python. Raises
    `metadata.PackageNotFoundError` where `root` itself is not installed.
    """
    found = {normal(root): metadata.distribution(root)}
    waiting = [(normal(root), frozenset(map(normal, extras)))]
    done: set[tuple[str, frozenset[str]]] = set()
    while waiting:
        task = waiting.pop()
        if task in done:
            continue
        done.add(task)
        name, wanted = task
        for needs, its_extras in _requirements(found[name], wanted):
            if needs not in found:
                try:
                    found[needs] = metadata.distribution(needs)
                except metadata.PackageNotFoundError:
                    continue
            waiting.append((needs, its_extras))
    return dict(sorted(found.items()))


def extras_of(root: str) -> set[str]:
    """The extras that an installed distribution offers."""
    return set(metadata.metadata(root).get_all("Provides-Extra") or [])


def _requirements(
    package: metadata.Distribution, extras: frozenset[str]
) -> Iterator[tuple[str, frozenset[str]]]:
    for line in package.requires or []:
        requirement, _, marker = line.partition(";")
        match = _REQUIREMENT.match(requirement)
        if match is None:
            continue
        behind = {normal(name) for name in _EXTRA.findall(marker)}
        if behind and not behind & extras:
            continue
        its_extras = (match[2] or "").split(",")
        yield normal(match[1]), frozenset(normal(e.strip()) for e in its_extras if e.strip())
