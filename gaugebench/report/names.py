"""What a customer calls the channels, and a check."""

from __future__ import annotations

from gaugebench.errors import UnitError
from gaugebench.model.role import Port, Role
from gaugebench.model.saying import Saying, Written

CHECK = Saying("Check{of_a_sheet}", of_a_sheet="")
"""The noun. A button of the desk is called “Check” too, so the two are told apart by a place."""
_NAMES = {
    "pilot": Saying("Pilot"),
    "engine.speed": Saying("Engine speed"),
    "oil.temperature": Saying("Oil temperature"),
    "load_sense": Saying("Load sense"),
    "case_drain.flow": Saying("Case drain flow"),
    "case.pressure": Saying("Case pressure"),
    "return.pressure": Saying("Return pressure"),
    "travel_pilot.left": Saying("Travel pilot left"),
    "travel_pilot.right": Saying("Travel pilot right"),
    "psv.current": Saying("Valve current"),
    "psv.pressure": Saying("Valve pressure"),
}


def role_name(role: Role) -> str:
    """A role in the trade's words: “Pump 1”, “Pump 1 control”."""
    if role.port is Port.MAIN:
        return Saying("Pump {number}", number=role.pump)
    if role.port is Port.CONTROL:
        return Saying("Pump {number} control", number=role.pump)
    return _NAMES.get(role.name) or Written(role.name)


def named(role: str) -> str:
    """The same of a role as a job keeps it; a role that is not known stays as it is written."""
    try:
        return role_name(Role.parse(role))
    except UnitError:
        return Written(role)
