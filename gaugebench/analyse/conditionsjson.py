"""What stands beside a loading, as plain data for JSON: the shape of `jsonform`, its own keys."""

from __future__ import annotations

from typing import Any

from gaugebench.analyse.conditions import Conditions, PumpConditions
from gaugebench.model.figures import Absent, Answer


def conditions_json(found: Conditions) -> dict[str, Any]:
    """Plain data that `json.dumps(…, allow_nan=False)` takes; units are in the keys.

    Absent figures are None with their reason under `why_absent`; `u` holds the half-widths of the
    k = 2 intervals, `cautions` the reasons not to rely on a figure, under the same keys.
    """
    row = _row(
        {
            "engine_speed_rpm": found.speed,
            "oil_temperature_c": found.temperature,
            "unloaded_speed_rpm": found.droop.unloaded,
            "lowest_speed_rpm": found.droop.lowest,
            "droop_pct": found.droop.droop,
            "recovery_s": found.droop.recovery,
        }
    )
    row["pumps"] = {str(number): _pump(pump) for number, pump in sorted(found.pumps.items())}
    return row


def _pump(pump: PumpConditions) -> dict[str, Any]:
    return _row(
        {
            "ripple_speed_rpm": pump.ripple_speed,
            "travel_power_w": pump.travel_power,
            "hold_power_w": pump.hold_power,
            "relief_heat_j": pump.relief_heat,
        }
    )


def _row(answers: dict[str, Answer]) -> dict[str, Any]:
    row: dict[str, Any] = {}
    u: dict[str, float] = {}
    why: dict[str, str] = {}
    cautions: dict[str, list[str]] = {}
    for name, answer in answers.items():
        if isinstance(answer, Absent):
            row[name], why[name] = None, answer.reason
            continue
        row[name] = answer.value
        if answer.expanded is not None:
            u[name] = answer.expanded
        if answer.cautions:
            cautions[name] = list(answer.cautions)
    return row | {"u": u, "why_absent": why, "cautions": cautions}
