"""Marks as they are edited: a change gives a new row of marks, so it can be undone. No Qt."""

from __future__ import annotations

from dataclasses import replace

from gaugebench.model.mark import Mark, MarkKind, Standing

Marks = tuple[Mark, ...]


def _sorted(marks: list[Mark]) -> Marks:
    return tuple(sorted(marks, key=lambda m: (m.time_s, m.key)))


def find(marks: Marks, key: str) -> Mark:
    """The mark of that key. Raises `KeyError`."""
    for mark in marks:
        if mark.key == key:
            return mark
    raise KeyError(key)


def added(marks: Marks, time_s: float, note: str) -> tuple[Marks, str]:
    """The marks with a new note, and its key."""
    taken = {m.key for m in marks}
    key = next(k for k in (f"review/{n}" for n in range(1, 100_000)) if k not in taken)
    mark = Mark(key, MarkKind.NOTE, time_s, Standing.BY_HAND, note=note)
    return _sorted([*marks, mark]), key


def moved(marks: Marks, key: str, time_s: float) -> Marks:
    """The marks with one at another instant; it is then set by hand, its pressure unknown."""
    found = find(marks, key)
    put = replace(found, time_s=time_s, standing=Standing.BY_HAND, pressure_pa=None)
    return _sorted([m for m in marks if m.key != key] + [put])


def noted(marks: Marks, key: str, note: str) -> Marks:
    """The marks with another note at one of them."""
    found = find(marks, key)
    return _sorted([m for m in marks if m.key != key] + [replace(found, note=note)])


def removed(marks: Marks, key: str) -> Marks:
    """The marks without one of them."""
    find(marks, key)
    return tuple(m for m in marks if m.key != key)
