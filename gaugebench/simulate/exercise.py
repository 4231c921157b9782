"""An exercise: a machine with something wrong, and how well a learner put it right.

What the learner wrote down and did is held against the truth: settings against the range they
should stand in, readings against what the machine really does, faults against those it has.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import lru_cache

from gaugebench.simulate.faults import FAULTS, with_faults
from gaugebench.simulate.machine import Machine
from gaugebench.simulate.moves import FaultOn, Script
from gaugebench.simulate.plant import BAR, Plant
from gaugebench.simulate.screws import setting

READINGS = ("relief 1", "relief 2", "cut-off 1", "cut-off 2", "pilot high", "pilot low")
"""What can be read: main pressures held over the relief and by the cut-off, the pilot at idles."""
_HOLDS = {"1": "bucket", "2": "arm"}
_HOLD_S = 2.0


class Matter(StrEnum):
    """What an item of an outcome is about."""

    SCREW = "screw"
    READING = "reading"
    FAULT = "fault"


@dataclass(frozen=True, slots=True)
class Exercise:
    """script: the machine as it is found, with its faults.

    aims: screw → the range its setting must end in, Pa (torque limit: N·m). tolerance_pa: how far
    a reading that was written down may be off; by default the class of a 600 bar transducer, 0.5 %.
    """

    script: Script
    aims: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    tolerance_pa: float = 3 * BAR


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that was asked for: `said` by the learner (None: missed), `truth`, in words too.

    where: of a fault. is_there: whether the machine has that fault.
    """

    matter: Matter
    name: str
    is_right: bool
    said: float | None
    truth: float | None
    words: str
    where: str = ""
    is_there: bool = True


@dataclass(frozen=True, slots=True)
class Outcome:
    """All items of an exercise, in order: screws, readings, faults."""

    items: tuple[Item, ...]

    @property
    def passed(self) -> bool:
        """Whether everything is right."""
        return all(item.is_right for item in self.items)

    @property
    def missed(self) -> tuple[Item, ...]:
        """What is not right."""
        return tuple(item for item in self.items if not item.is_right)


def judge(
    exercise: Exercise,
    left: Plant,
    readings: Mapping[str, float],
    named: Collection[FaultOn],
) -> Outcome:
    """How an exercise ended.

    left: the machine as the learner left it (`Performance.plant`). readings: what was written down
    of the machine as left, by the names of `READINGS`, Pa; those of every screw with an aim are
    asked for. named: the faults that the learner named; severities are not asked for.
    Raises `KeyError` for a reading, a screw or a fault that there is not.
    """
    items = [_screw(left, screw, low, high) for screw, (low, high) in exercise.aims.items()]
    asked = [name for name in READINGS if name in exercise.aims or name in readings]
    unknown = set(readings) - set(READINGS)
    if unknown:
        raise KeyError(f"there is no reading “{min(unknown)}”")
    items += [_reading(exercise, left, name, readings.get(name)) for name in asked]
    return Outcome((*items, *_faults(exercise.script, named)))


def _screw(left: Plant, screw: str, low: float, high: float) -> Item:
    stands = setting(left, screw)
    is_right = low <= stands <= high
    side = "" if is_right else " too low" if stands < low else " too high"
    words = f"“{screw}” stands{side or ' where it should'}"
    return Item(Matter.SCREW, screw, is_right, stands, (low + high) / 2, words)


def _reading(exercise: Exercise, left: Plant, name: str, said: float | None) -> Item:
    truth = true_reading(left, name)
    if said is None:
        words = f"“{name}” was not read again"
        return Item(Matter.READING, name, is_right=False, said=None, truth=truth, words=words)
    off = (said - truth) / BAR
    is_right = abs(off) * BAR <= exercise.tolerance_pa
    words = f"“{name}” was read {abs(off):.1f} bar too {'high' if off > 0 else 'low'}"
    if is_right:
        words = f"“{name}” was read right"
    return Item(Matter.READING, name, is_right, said, truth, words)


def _faults(script: Script, named: Collection[FaultOn]) -> list[Item]:
    present = {(f.name, f.where) for f in script.faults if f.severity > 0}
    claimed = {(f.name, f.where) for f in named}
    for name, _ in claimed:
        if name not in FAULTS:
            raise KeyError(f"there is no fault “{name}”")
    items = []
    for name, where in sorted(present | claimed):
        is_right = (name, where) in present and (name, where) in claimed
        words = f"{FAULTS[name].summary} ({where})"
        if not is_right:
            lack = "was missed" if (name, where) in present else "is not there"
            words = f"{words}: {lack}"
        is_there = (name, where) in present
        items.append(Item(Matter.FAULT, name, is_right, None, None, words, where, is_there))
    return items


@lru_cache(maxsize=64)
def true_reading(plant: Plant, name: str) -> float:
    """What a faultless gauge would read on `plant`, Pa, at high idle unless the name says low.

    Raises `KeyError` for a name that is not in `READINGS`.
    """
    if name not in READINGS:
        raise KeyError(f"there is no reading “{name}”")
    kind, _, which = name.partition(" ")
    if kind == "pilot":
        engine = plant.engine
        rpm = engine.low_idle if which == "low" else engine.high_idle
        return Machine(plant, rpm).reading().pilot
    function = _HOLDS[which]
    machine = Machine(plant.with_function(function, start=plant.function(function).stroke))
    machine.demand.cut_off = kind == "cut-off"
    machine.lever(function, 1.0)
    machine.advance(_HOLD_S)
    return machine.reading().main[int(which) - 1]


def found_plant(exercise: Exercise) -> Plant:
    """The machine as the learner finds it, faults included."""
    return with_faults(exercise.script)[0]
