"""What the machine sheet of the open job has to say to a hook-up. No Qt."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gaugebench.desk.hookup.levers import Lever
from gaugebench.model.terms import FunctionKind
from gaugebench.quantity import Dimension

if TYPE_CHECKING:
    from gaugebench.model.sheet import Sheet


def highest_pa(sheet: Sheet) -> float | None:
    """The highest pressure that a check of the sheet allows, Pa; None where it names none.

    A relief that no check reads may stand higher, so it is offered and not taken.
    """
    found = [
        top
        for check in sheet.check
        if check.dimension is Dimension.PRESSURE and (limits := check.limits) is not None
        for top in (limits.high, limits.low)
        if top is not None
    ]
    return max(found, default=None)


def levers(sheet: Sheet) -> tuple[Lever, ...]:
    """The functions that one pump feeds alone, cylinders first."""
    single = [f for f in sheet.function if len(f.pumps) == 1 and not f.merged]
    single.sort(key=lambda f: f.kind is not FunctionKind.CYLINDER)
    return tuple(Lever(f.name, f.pumps[0]) for f in single)
