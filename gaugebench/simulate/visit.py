"""The demonstration: an invented technician's visit to an invented excavator.

Machine, site and people are made up; the kit says that it is simulated.
"""

from __future__ import annotations

from dataclasses import replace

from gaugebench.model.kit import Kit, kit_from
from gaugebench.model.trace import Particulars
from gaugebench.simulate.plant import BAR, CutOff, Plant, Pump, Relief
from gaugebench.simulate.rig import STANDARD
from gaugebench.simulate.script import Move, Script, Switch

RATE_HZ = 200.0
PARTICULARS = Particulars(
    machine="Marten 21 tracked excavator (invented)",
    serial="MT21-0417",
    hour_meter_h=6412.0,
    site="Kestrel Hollow quarry, lower bench (invented)",
    technician="R. Okonjo-Lindqvist (invented)",
    customer="Hollow Aggregates (invented)",
    job="practice visit: slow after a pump rebuild",
    notes="Simulated. Nobody was near a machine.",
)


def demo_plant() -> Plant:
    """The machine of the visit: pump 2 leaks more, and its relief and cut-off sit lower."""
    return Plant(
        pumps=(Pump(), replace(Pump(), leak=1.7 * Pump().leak)),
        reliefs=(Relief(crack=331 * BAR), Relief(crack=325 * BAR)),
        cutoffs=(CutOff(start=309 * BAR), CutOff(start=304 * BAR)),
    )


def demo_script() -> Script:
    """28 s: neutral, a slow and a fast hold, both pumps over relief, both cut off, neutral."""
    plant = demo_plant()
    # The bucket starts curled and the boom near the top, so that a lever soon finds the stop.
    functions = tuple(
        replace(f, start={"bucket": 1.0, "boom": 0.97}.get(f.name, f.start))
        for f in plant.functions
    )
    return Script(
        duration_s=28.0,
        plant=replace(plant, functions=functions),
        switches=(
            Switch("cut-off", 0.0, 0.0),  # cancelled by the test switch, to see the reliefs
            Switch("cut-off", 18.5, 1.0),  # and back in service
        ),
        moves=(
            Move("bucket", 3.0, 1.5, rise_s=2.5),
            Move("bucket", 8.5, 2.0, rise_s=0.10),
            Move("boom", 13.5, 2.5, rise_s=0.25),
            Move("boom", 20.5, 3.5, rise_s=0.8),
        ),
    )


def demo_kit(port: str) -> Kit:
    """The kit that hears the board at `port`: text lines, 0.5–4.5 V transducers, simulated."""
    roles = {"pilot": "pilot", "p1": "pump1.main", "c1": "pump1.control",
             "p2": "pump2.main", "c2": "pump2.control"}  # fmt: skip
    channels: list[dict[str, object]] = [
        {
            "input": probe.name,
            "role": roles[probe.name],
            "signal": "0.5-4.5 V",
            "unit": "V",
            "range": ["0 bar", f"{probe.range_pa / BAR:.0f} bar"],
            "accuracy_pct_fs": 0.5,
            "serial": f"practice-{number}",
            "resolution_bits": probe.bits,
            **({"control_port": "regulated"} if probe.name.startswith("c") else {}),
        }
        for number, probe in enumerate(STANDARD, 1)
    ]
    channels.append({"input": "rpm", "role": "engine.speed", "unit": "rpm"})
    return kit_from(
        {
            "schema": 1,
            "name": "practice kit",
            "simulated": True,
            "source": [
                {
                    "driver": "text-lines",
                    "name": "board",
                    "options": {"port": port},
                    "channel": channels,
                }
            ],
        }
    )
