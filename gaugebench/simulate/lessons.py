"""The exercises a learner chooses from: a complaint as a customer puts it, and what is behind it.

The machine is the one of the invented sheet (`gaugebench/procedure/sheets/invented.toml`), so that
its bands are what the screws are to be set to. What is wrong is not told until the exercise ends.
All are read with one kit, whose transducers have errors within their class: zeros once taken hold
for all of them, and a reading may be off by the class.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace

from gaugebench.simulate.exercise import Exercise
from gaugebench.simulate.moves import FaultOn
from gaugebench.simulate.plant import BAR, Plant
from gaugebench.simulate.rig import PORTS
from gaugebench.simulate.visit import free_script

AIMS = {
    "relief 1": (323.5 * BAR, 335.5 * BAR),
    "relief 2": (323.5 * BAR, 335.5 * BAR),
    "cut-off 1": (302.5 * BAR, 312.5 * BAR),
    "cut-off 2": (302.5 * BAR, 312.5 * BAR),
}
"""Where the screws must stand for the readings to lie in the invented sheet's bands, Pa."""
SURPRISE = "surprise"
_DRAWN = (
    FaultOn("main relief low", 0.4, "1"),
    FaultOn("main relief low", 0.4, "2"),
    FaultOn("cut-off low", 0.6, "1"),
    FaultOn("cut-off low", 0.6, "2"),
    FaultOn("cut-off high", 1.0, "1"),
    FaultOn("cut-off high", 1.0, "2"),
    FaultOn("port relief low", 0.7, "2"),
    FaultOn("weak pilot", 0.8, "1"),
    FaultOn("worn pump", 0.8, "1"),
    FaultOn("worn pump", 0.8, "2"),
    FaultOn("signal hose leak", 0.6, "1"),
)
_OF_A_PUMP = (
    "worn pump", "main relief low", "cut-off low", "cut-off high", "sticking relief",
    "port relief low", "orifice blocked", "signal hose leak", "track drags",
)  # fmt: skip
_OF_THE_MACHINE = (
    "weak pilot",
    "engine weak",
    "air in oil",
    "merge valve slow",
    "torque limit low",
)
CLAIMS = (
    *(FaultOn(name, 1.0, where) for name in _OF_A_PUMP for where in ("1", "2")),
    *(FaultOn(name) for name in _OF_THE_MACHINE),
    *(FaultOn("swapped hoses", 1.0, port) for port in ("p1", "c1")),
    *(
        FaultOn(name, 1.0, port)
        for name in ("zero shift", "range error", "loose contact")
        for port in PORTS
    ),
)
"""All that a learner may name as the fault, in order; a dead wire tells of itself."""


@dataclass(frozen=True, slots=True)
class Lesson:
    """complaint: what the customer says. faults: what is behind it, hidden from the learner."""

    key: str
    title: str
    complaint: str
    faults: tuple[FaultOn, ...] = ()


LESSONS = (
    Lesson("look", "1  A first look", "Nothing is complained of; the yearly check is due."),
    Lesson(
        "bite",
        "2  Lost its bite",
        "The bucket no longer breaks out as it did; the arm is as ever.",
        (FaultOn("main relief low", 0.4, "1"),),
    ),
    Lesson(
        "hot",
        "3  Runs hot at the stop",
        "Oil gets hot and the engine labours when the arm stands against its stop.",
        (FaultOn("cut-off high", 1.0, "2"),),
    ),
    Lesson(
        "slow",
        "4  Slow all over",
        "Everything is slow to start moving, worst at low idle.",
        (FaultOn("weak pilot", 0.8, "1"),),
    ),
    Lesson(
        "arm",
        "5  A weak arm",
        "The arm gives way when curled in against the bank; it travels well.",
        (FaultOn("port relief low", 0.7, "2"),),
    ),
    Lesson(
        "rebuild",
        "6  After a rebuild",
        "Slow after a pump rebuild, and it digs weakly on one side.",
        (FaultOn("worn pump", 0.6, "2"), FaultOn("main relief low", 0.3, "2")),
    ),
    Lesson(
        "odd",
        "7  Odd readings",
        "The last technician's numbers made no sense to anybody.",
        (FaultOn("swapped hoses", 1.0, "p1"),),
    ),
    Lesson(SURPRISE, "8  A surprise", "The driver has left; nobody knows what it does."),
)
"""In the order in which they are offered, easy ones first."""


def lesson(key: str) -> Lesson:
    """The lesson of that key. Raises `KeyError` where there is none."""
    found = next((one for one in LESSONS if one.key == key), None)
    if found is None:
        raise KeyError(f"there is no exercise “{key}”")
    return found


def exercise(key: str, seed: int | None = None) -> Exercise:
    """The machine of a lesson, engine off, left to the hands. Raises `KeyError`.

    seed: what the surprise draws one or two faults from; by default it is another each time.
    """
    chosen = lesson(key)
    faults = chosen.faults
    if key == SURPRISE:
        faults = _draw(random.Random(seed))  # noqa: S311 - a draw, no secret
    # Bucket and arm stand near their ends, so that the lever soon finds the stop.
    plant = Plant().with_function("bucket", start=1.02).with_function("arm", start=1.37)
    return Exercise(replace(free_script(), plant=plant, faults=faults), AIMS)


def _draw(dice: random.Random) -> tuple[FaultOn, ...]:
    first = dice.choice(_DRAWN)
    second = dice.choice([f for f in _DRAWN if f.where != first.where])
    return (first, second) if dice.random() < 0.5 else (first,)
