"""The demonstration: an invented technician's visit to an invented excavator.

Machine, site and people are made up; the kit says that it is simulated.
"""

from __future__ import annotations

from dataclasses import replace

from gaugebench.model.kit import Kit
from gaugebench.model.trace import Particulars
from gaugebench.simulate.hookup import kit_for
from gaugebench.simulate.moves import Move, Script, Switch
from gaugebench.simulate.plant import BAR, CutOff, Plant, Pump, Relief
from gaugebench.simulate.rig import Rigging, drawn
from gaugebench.simulate.voices import TextLines

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
    plant = Plant(
        pumps=(Pump(), replace(Pump(), leak=1.7 * Pump().leak)),
        reliefs=(Relief(crack=331 * BAR), Relief(crack=325 * BAR)),
        cutoffs=(CutOff(start=309 * BAR), CutOff(start=304 * BAR)),
    )
    # Bucket and arm stand near their ends, so that the lever soon finds the stop.
    return plant.with_function("bucket", start=1.05).with_function("arm", start=1.40)


def demo_script() -> Script:
    """28 s: neutral, a slow and a fast hold, both pumps over relief, both cut off, neutral."""
    return Script(
        duration_s=28.0,
        plant=demo_plant(),
        particulars=PARTICULARS,
        switches=(
            Switch("cut-off", 0.0, 0.0),  # cancelled by the test switch, to see the reliefs
            Switch("cut-off", 18.5, 1.0),  # and back in service
        ),
        moves=(
            Move("bucket", 3.0, 1.5, rise_s=2.5),
            Move("bucket", 8.5, 2.0, rise_s=0.10),
            Move("bucket", 13.5, 2.5, rise_s=0.25),
            Move("arm", 13.53, 2.47, rise_s=0.27),
            Move("bucket", 20.5, 3.5, rise_s=0.8),
            Move("arm", 20.55, 3.45, rise_s=0.8),
        ),
    )


WORKING_DAY_S = 12 * 3600.0


def free_script(duration_s: float = WORKING_DAY_S) -> Script:
    """The same machine left alone, engine off, to be worked by hand (`Hands`).

    Its transducers have errors within their class, so that taking zeros is worth while.
    """
    return Script(
        duration_s,
        plant=demo_plant(),
        rigging=drawn(Rigging(), 1),
        engine_rpm=0.0,
        particulars=PARTICULARS,
    )


def demo_kit(port: str) -> Kit:
    """The kit that hears the practice board at `port`: text lines, 0.5–4.5 V transducers."""
    script = demo_script()
    voice = TextLines()
    return kit_for(script, voice.driver, voice.options(port, script.rate_hz))


def practice_kit() -> Kit:
    """The same without a port between, for systems that have no pseudo-terminals."""
    return kit_for(demo_script(), "practice", {})


def learner_kit() -> Kit:
    """The same kit on a machine that is worked by hand."""
    return kit_for(demo_script(), "practice", {"script": "by hand"})
