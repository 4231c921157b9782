"""The wrong-port check: low idle, neutral, before the first load."""

from __future__ import annotations

from collections.abc import Mapping

from gaugebench.model.band import Band
from gaugebench.model.role import Role
from gaugebench.model.saying import Saying
from gaugebench.procedure.rules import hint, hint_band, label
from gaugebench.quantity import show


def usual_band(role: Role) -> Band | None:
    """What such a port reads at low idle in neutral, gauge Pa; None where nothing is known of it.

    Known are main, control and pilot pressures (common practice, no source).
    """
    kind = role.port.value if role.port else role.name
    return hint_band("wrong_port", kind) if kind in hint("wrong_port") else None


def wrong_ports(readings: Mapping[Role, float], shown_in: str = "bar") -> tuple[str, ...]:
    """What is not as it should be at low idle in neutral, each a sentence; pressures in gauge Pa.

    Empty where every port reads what such a port reads. Roles that are no main, control or pilot
    pressure are passed over.
    """
    found = []
    for role, value in readings.items():
        band = usual_band(role)
        if band is not None and not band.holds(value):
            found.append(
                Saying(
                    "{role} reads {value} at low idle in neutral; such a port reads {band} "
                    "({label}). No stall: look where its line sits.",
                    role=role,
                    value=show(value, shown_in),
                    band=band.text(shown_in),
                    label=label(),
                )
            )
    return tuple(found)
