"""How an exercise ended, in words. No Qt."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gaugebench.desk.shown import Shown
from gaugebench.desk.words import tr
from gaugebench.quantity import Dimension

if TYPE_CHECKING:
    from gaugebench.simulate.exercise import Item, Outcome
    from gaugebench.simulate.moves import FaultOn

_OF_A_PUMP = {"1": "pump 1", "2": "pump 2"}
_PORTS = {"pilot": "pilot", "p1": "main 1", "c1": "control 1", "p2": "main 2", "c2": "control 2"}
_NOWHERE = {"weak pilot", "engine weak", "air in oil", "merge valve slow", "torque limit low"}


def fault_title(name: str, where: str) -> str:
    """A fault as a technician would name it, with its place where it has one."""
    from gaugebench.simulate.faults import FAULTS

    summary = tr(FAULTS[name].summary)
    if name in _NOWHERE:
        return summary
    if name == "swapped hoses":
        place = tr("mains") if where.startswith("p") else tr("controls")
    else:
        place = tr(_OF_A_PUMP.get(where) or _PORTS[where])
    return f"{summary} ({place})"


def claim_title(claim: FaultOn) -> str:
    """What a learner may name as the fault."""
    return fault_title(claim.name, claim.where)


def heading(outcome: Outcome) -> str:
    """Pass or fail."""
    if outcome.passed:
        return tr("SIMULATED exercise: PASSED")
    return tr("SIMULATED exercise: NOT PASSED, {count} of {all} missed",
              count=len(outcome.missed), all=len(outcome.items))  # fmt: skip


def lines(outcome: Outcome, shown: Shown) -> list[tuple[str, bool]]:
    """Every item as a sentence, and whether it is right: what was missed comes first."""
    rows = [(_sentence(item, shown), item.is_right) for item in outcome.items]
    return sorted(rows, key=lambda row: row[1])


def _sentence(item: Item, shown: Shown) -> str:
    if item.matter.value == "fault":
        return _fault(item)
    text = {"name": item.name}
    said, truth = item.said, item.truth
    if item.matter.value == "screw":
        if item.is_right or said is None or truth is None:
            return tr("Screw {name} stands where it should.", **text)
        too = tr("too low") if said < truth else tr("too high")
        return tr("Screw {name} stands {too}.", too=too, **text)
    real = shown.text(truth if truth is not None else float("nan"), Dimension.PRESSURE)
    if said is None:
        return tr("{name} was not read; in truth it is {real}.", real=real, **text)
    read = shown.text(said, Dimension.PRESSURE)
    if item.is_right:
        return tr("{name} was read right: {read}.", read=read, **text)
    return tr("{name} was read as {read}; in truth it is {real}.", read=read, real=real, **text)


def _fault(item: Item) -> str:
    what = fault_title(item.name, item.where)
    if item.is_right:
        return tr("Found: {what}.", what=what)
    if item.is_there:
        return tr("Missed: {what}.", what=what)
    return tr("Named, but not there: {what}.", what=what)
