"""The kit file that fits the simulated kit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from gaugebench.model.kit import Kit, kit_from
from gaugebench.model.role import ControlPort
from gaugebench.simulate.moves import Script
from gaugebench.simulate.plant import BAR
from gaugebench.simulate.voice import FIELDS, VOLTS_A_RPM

ROLES = {
    "pilot": "pilot",
    "p1": "pump1.main",
    "c1": "pump1.control",
    "p2": "pump2.main",
    "c2": "pump2.control",
    "rpm": "engine.speed",
}


def kit_for(
    script: Script,
    driver: str,
    options: Mapping[str, Any],
    inputs: Sequence[str] = FIELDS,
    *,
    in_volts: bool = False,
) -> Kit:
    """The kit of `script`'s rigging, read through `driver`; it says that it is simulated.

    inputs: what the driver calls the fields, in the order of `FIELDS`. in_volts: the engine's speed
    comes as a voltage, `VOLTS_A_RPM`.
    """
    port = script.plant.control_port
    channels: list[dict[str, Any]] = [
        {
            "input": name,
            "role": ROLES[probe.name],
            "signal": "0.5-4.5 V",
            "unit": "V",
            "range": ["0 bar", f"{probe.range_pa / BAR:g} bar"],
            "accuracy_pct_fs": probe.class_pct,
            "serial": f"practice-{number}",
            "resolution_bits": probe.bits,
            "control_port": str(port if probe.name.startswith("c") else ControlPort.UNKNOWN),
        }
        for number, (name, probe) in enumerate(zip(inputs, script.rigging.probes, strict=False), 1)
    ]
    speed: dict[str, Any] = {
        "input": inputs[-1],
        "role": ROLES["rpm"],
        "unit": "V" if in_volts else "rpm",
    }
    if in_volts:
        speed |= {"signal": "0-10 V", "range": ["0 rpm", f"{10 / VOLTS_A_RPM:g} rpm"]}
    channels.append(speed)
    source = {"driver": driver, "name": "board", "options": dict(options), "channel": channels}
    return kit_from({"schema": 1, "name": "practice kit", "simulated": True, "source": [source]})
