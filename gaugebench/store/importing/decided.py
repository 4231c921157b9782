"""Whether a text file says of itself all that there is to know for reading it."""

from __future__ import annotations

from gaugebench.errors import UnitError
from gaugebench.model.role import Role
from gaugebench.store.importing import cells
from gaugebench.store.importing.plan import Plan
from gaugebench.store.importing.timekind import TimeKind


def is_fully_decided(plan: Plan) -> bool:
    """Whether the file's own headings give a role and unit to every column, and time its unit.

    So does what `write_csv` writes of a trace whose channels all have roles. Nothing is then left
    to ask or to choose: not what the user said (a recipe's roles and units count for nothing
    here), no column left out, no time made up from a date or a rate. A pressure that does not say
    whether it is gauge or absolute may be so, as the trace keeps it not stated.
    """
    headings = plan.layout.headings
    time = plan.time
    if time.kind is not TimeKind.ELAPSED or time.column is None or plan.remarks:
        return False
    if not headings[time.column].unit:
        return False
    stated = {time.column, *(c.index for c in plan.columns)}
    return len(stated) == len(headings) and all(
        _names_role(headings[c.index]) for c in plan.columns
    )


def _names_role(found: cells.Heading) -> bool:
    known = cells.known_unit(found.unit)
    try:
        role = Role.parse(found.name)
    except UnitError:
        return False
    return known is not None and known.dimension is role.dimension
