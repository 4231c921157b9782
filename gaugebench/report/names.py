"""What a customer calls the channels."""

from __future__ import annotations

from gaugebench.errors import UnitError
from gaugebench.model.role import Port, Role

_NAMES = {
    "pilot": "Pilot",
    "engine.speed": "Engine speed",
    "oil.temperature": "Oil temperature",
    "load_sense": "Load sense",
    "case_drain.flow": "Case drain flow",
    "case.pressure": "Case pressure",
    "return.pressure": "Return pressure",
    "travel_pilot.left": "Travel pilot left",
    "travel_pilot.right": "Travel pilot right",
    "psv.current": "Valve current",
    "psv.pressure": "Valve pressure",
}


def role_name(role: Role) -> str:
    """A role in the trade's words: “Pump 1”, “Pump 1 control”."""
    if role.port is Port.MAIN:
        return f"Pump {role.pump}"
    if role.port is Port.CONTROL:
        return f"Pump {role.pump} control"
    return _NAMES.get(role.name, role.name)


def named(role: str) -> str:
    """The same of a role as a job keeps it; a role that is not known stays as it is written."""
    try:
        return role_name(Role.parse(role))
    except UnitError:
        return role
