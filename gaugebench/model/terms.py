"""The words of a machine sheet: what may stand in its keys."""

from __future__ import annotations

from enum import StrEnum


class Stage(StrEnum):
    """The order of a visit (common practice, no source)."""

    PREPARE = "filters, level, suction"
    ENGINE = "engine speeds"
    OIL = "oil temperature"
    ZERO = "transducer zeros"
    WRONG_PORT = "wrong-port check"
    PILOT = "pilot"
    CONTROL = "control pressures"
    MAIN_RELIEF = "main relief"
    OTHER_RELIEFS = "port, swing and travel reliefs"
    CUT_OFF = "cut-off"
    FLOW = "pump flows"
    TORQUE = "torque"
    CYCLES = "cycle times"
    STRAIGHT = "straight travel"
    AGAIN = "touched once more"


class Measures(StrEnum):
    """Which figure a check takes."""

    STEADY = "steady"
    """The mean of a quiet stretch."""
    RELIEF = "relief"
    """Main pressure settled while oil goes over a relief."""
    CUT_OFF = "cut-off"
    """Main pressure settled while the pump de-strokes."""
    SETTLED = "settled"
    """Main pressure settled in a hold, whatever holds it."""
    CONTROL = "control at stall"
    CYCLE = "cycle time"
    FLOW = "flow"
    IMBALANCE = "imbalance"
    DROP = "speed drop"
    """How far the engine falls below its unloaded speed while both pumps work."""
    DEVIATION = "travel deviation"


class Sense(StrEnum):
    """How the pumps are controlled, and so what their control pressure does."""

    NEGATIVE = "negative"
    POSITIVE = "positive"
    LOAD_SENSING = "load sensing"


class Engine(StrEnum):
    """The engine's state during a check."""

    OFF = "off"
    LOW = "low idle"
    HIGH = "high idle"
    LOADED = "loaded"


class Lever(StrEnum):
    """What is done at the lever."""

    NEUTRAL = "neutral"
    PART = "part"
    FULL = "full"
    FEATHER = "feather"


class FunctionKind(StrEnum):
    """What a function moves."""

    CYLINDER = "cylinder"
    SWING = "swing"
    TRAVEL = "travel"
    OTHER = "other"


class ReliefKind(StrEnum):
    """Where a relief valve sits."""

    MAIN = "main"
    PORT = "port"
    SWING = "swing"
    TRAVEL = "travel"
    PILOT = "pilot"


class ScrewSense(StrEnum):
    """What turning a screw in does to its pressure."""

    RAISES = "raises"
    LOWERS = "lowers"


class ChangeKind(StrEnum):
    """What may be altered for a check, and must be put back before the job closes."""

    RELIEF_RAISED = "relief raised"
    CUT_OFF_RAISED = "cut-off raised"
    PORT_RELIEF = "port relief"
    SWAPPED = "swapped"
    BOOST_OFF = "boost off"
