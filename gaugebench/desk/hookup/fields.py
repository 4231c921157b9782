"""Which fields a channel's form has, in which part, and what they are called. No Qt."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from gaugebench.desk.names import role_title
from gaugebench.desk.words import tr
from gaugebench.model.conditioning import Wiring
from gaugebench.model.role import ControlPort, Role
from gaugebench.quantity import Reference


class Part(StrEnum):
    """The parts of a channel's form."""

    PORT = "Test port"
    SIGNAL = "Signal"
    TRANSDUCER = "Transducer"
    FITTING = "Fitting record"


@dataclass(frozen=True, slots=True)
class Line:
    """A line of text: its key in the kit, what it is called, and an example."""

    key: str
    title: str
    example: str
    part: Part
    is_said: bool = False
    """Its example is words, which have their translation."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A choice: its key in the kit, what it is called, and what may be chosen, with its words."""

    key: str
    title: str
    default: str
    choices: tuple[tuple[str, str], ...]
    part: Part


LINES = (
    Line("most", "Most it can see", "by the machine's sheet", Part.PORT, is_said=True),
    Line("input", "Input", "P1", Part.SIGNAL),
    Line("unit", "Unit", "V, mA, bar, rpm …", Part.SIGNAL, is_said=True),
    Line("scale", "One count is", "1", Part.SIGNAL),
    Line("offset", "Nothing reads", "0", Part.SIGNAL),
    Line("sensitivity_mv_v", "Bridge, mV/V", "2.0", Part.SIGNAL),
    Line("excitation", "Excitation", "10 V", Part.SIGNAL),
    Line("supply", "Supply read by", "an input in V", Part.SIGNAL, is_said=True),
    Line("resolution_bits", "Converter, bits", "14", Part.SIGNAL),
    Line("low", "Range from", "0 bar", Part.TRANSDUCER),
    Line("high", "Range to", "600 bar", Part.TRANSDUCER),
    Line("proof", "Proof", "1200 bar", Part.TRANSDUCER),
    Line("burst", "Burst", "2000 bar", Part.TRANSDUCER),
    Line("accuracy_pct_fs", "Accuracy, %", "0.5", Part.TRANSDUCER),
    Line("serial", "Serial", "on its label", Part.TRANSDUCER, is_said=True),
    Line("calibrated_on", "Calibrated on", "2026-03-31", Part.TRANSDUCER),
    Line("zero", "Zero", "0 bar", Part.TRANSDUCER),
    Line("alarm", "Alarm above", "380 bar", Part.TRANSDUCER),
    Line("adapter", "Adapter", "M16×2 test point", Part.FITTING, is_said=True),
    Line("bore", "Hose bore", "2 mm", Part.FITTING),
    Line("length", "Hose length", "1.5 m", Part.FITTING),
    Line("rating", "Hose rated", "630 bar", Part.FITTING),
)
NUMBERS = {"scale", "offset", "accuracy_pct_fs", "sensitivity_mv_v", "resolution_bits"}
"""Lines that hold a bare number; a comma is taken for its point."""
FITTING = {"adapter", "bore", "length", "rating"}
"""Lines that make up the kit's one line on the fitting."""
OF_BRIDGE = {"sensitivity_mv_v", "excitation"}
FED = {Wiring.BRIDGE.value, Wiring.RATIOMETRIC.value}
"""Signals that follow what feeds the transducer."""
_ROLES = (
    "pilot", "pump1.main", "pump1.control", "pump2.main", "pump2.control", "load_sense",
    "travel_pilot.left", "travel_pilot.right", "return.pressure", "case.pressure",
    "case_drain.flow", "psv.pressure", "psv.current", "engine.speed", "oil.temperature",
)  # fmt: skip
_PORTS = {
    ControlPort.UNKNOWN: "not known",
    ControlPort.SIGNAL: "signal: lever or bypass",
    ControlPort.REGULATED: "regulated: after torque and cut-off",
    ControlPort.SERVO: "servo: the stroking piston",
}
_WIRINGS = {
    Wiring.DIRECT: "already in a unit",
    Wiring.RATIOMETRIC: "0.5–4.5 V",
    Wiring.VOLTAGE: "0–10 V",
    Wiring.CURRENT: "4–20 mA",
    Wiring.BRIDGE: "mV/V bridge",
}
_REFERENCES = {
    Reference.GAUGE: "gauge pressure",
    Reference.ABSOLUTE: "absolute pressure",
    Reference.SEALED: "sealed gauge",
}


def choices() -> tuple[Choice, ...]:
    """The choices, in the language spoken."""
    roles = (("", tr("no role")), *((r, role_title(Role(r))) for r in _ROLES))
    return (
        Choice("role", "Measures", "", roles, Part.PORT),
        Choice(
            "control_port",
            "Control port",
            ControlPort.UNKNOWN.value,
            tuple((p.value, tr(words)) for p, words in _PORTS.items()),
            Part.PORT,
        ),
        Choice(
            "signal",
            "Signal",
            Wiring.DIRECT.value,
            tuple((w.value, tr(words)) for w, words in _WIRINGS.items()),
            Part.SIGNAL,
        ),
        Choice(
            "reference",
            "Reference",
            Reference.GAUGE.value,
            tuple((r.value, tr(words)) for r, words in _REFERENCES.items()),
            Part.TRANSDUCER,
        ),
    )
