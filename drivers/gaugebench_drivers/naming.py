"""Names of inputs: each given once, and each that a kit asks for offered by the device."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from gaugebench.driver import Input
from gaugebench.errors import SourceError


def no_doubles(what: str, names: Sequence[str]) -> None:
    """Refuse a list in which a name stands twice. Raises `ValueError`."""
    double = next((name for name in names if names.count(name) > 1), None)
    if double is not None:
        raise ValueError(f"the {what} “{double}” is given twice")


def grouped(
    wanted: Sequence[Input], offered: Iterable[Iterable[str]], where: str
) -> list[tuple[Input, ...]]:
    """The offered names, group by group, as inputs in the units of the kit, “” where it names none.

    where: what is said of a wanted input that is not offered. Raises `SourceError` for such a one.
    """
    groups = [tuple(names) for names in offered]
    known = {name for names in groups for name in names}
    for one in wanted:
        if one.name not in known:
            raise SourceError(f"The input “{one.name}” {where}.")
    units = {one.name: one.unit for one in wanted}
    return [tuple(Input(name, units.get(name, "")) for name in names) for names in groups]
