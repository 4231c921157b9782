"""The kit file that fits the simulated kit."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from gaugebench.model.kit import Kit, kit_from
from gaugebench.model.role import ControlPort
from gaugebench.simulate.moves import Script
from gaugebench.simulate.plant import BAR

ROLES = {
    "pilot": "pilot",
    "p1": "pump1.main",
    "c1": "pump1.control",
    "p2": "pump2.main",
    "c2": "pump2.control",
    "rpm": "engine.speed",
}


def kit_for(script: Script, driver: str, options: Mapping[str, Any]) -> Kit:
    """The kit of `script`'s rigging, read through `driver`; it says that it is simulated."""
    port = script.plant.control_port
    channels: list[dict[str, object]] = [
        {
            "input": probe.name,
            "role": ROLES[probe.name],
            "signal": "0.5-4.5 V",
            "unit": "V",
            "range": ["0 bar", f"{probe.range_pa / BAR:g} bar"],
            "accuracy_pct_fs": 0.5,
            "serial": f"practice-{number}",
            "resolution_bits": probe.bits,
            "control_port": str(port if probe.name.startswith("c") else ControlPort.UNKNOWN),
        }
        for number, probe in enumerate(script.rigging.probes, 1)
    ]
    channels.append({"input": "rpm", "role": ROLES["rpm"], "unit": "rpm"})
    source = {"driver": driver, "name": "board", "options": dict(options), "channel": channels}
    return kit_from({"schema": 1, "name": "practice kit", "simulated": True, "source": [source]})
