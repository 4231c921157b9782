"""What comes next and what to do for it: one check at a time, as it is told to the technician."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from gaugebench.model.job import Hands, Phase
from gaugebench.model.saying import Saying, joined
from gaugebench.model.sheet import Check
from gaugebench.model.terms import Engine, FunctionKind, Lever, Stage
from gaugebench.procedure import heat, rules
from gaugebench.procedure.judge import provisional
from gaugebench.procedure.state import JobState

PORTS_RIGHT = "ports right"
"""The observation that stands once the wrong-port check found every port as it should be."""

_WHY = {
    Stage.PREPARE: "A starved pump and a blocked filter look like every other fault.",
    Stage.ENGINE: "Flow follows engine speed, so the speeds come before anything that flows.",
    Stage.OIL: "Cold or hot oil moves every reading after this one.",
    Stage.ZERO: "A transducer's zero is in every reading taken with it.",
    Stage.WRONG_PORT: "A line on the wrong port is found here, before anything is loaded.",
    Stage.PILOT: "The pilot moves every spool; until it is right, all after it is provisional.",
    Stage.CONTROL: "The control pressure sets the pump's stroke before any load does.",
    Stage.MAIN_RELIEF: "The main relief sets the top of everything behind it.",
    Stage.OTHER_RELIEFS: "These are judged once the main relief is known.",
    Stage.CUT_OFF: "The cut-off is judged against a relief that is right.",
    Stage.FLOW: "Least and greatest flow of the pumps, now that the pressures are known.",
    Stage.TORQUE: "The engine's load is judged with both pumps moving, never at a stall.",
    Stage.CYCLES: "Times show what the pumps deliver once pressures and engine are known.",
    Stage.STRAIGHT: "Straight travel needs everything before it right on both sides.",
    Stage.AGAIN: "Whatever was touched is read once more.",
}
_LEVER = {
    Lever.NEUTRAL: "levers in neutral",
    Lever.PART: "lever part way",
    Lever.FULL: "lever fully over",
    Lever.FEATHER: "feather the lever in over 2 to 4 s",
}


@dataclass(frozen=True, slots=True)
class Prompt:
    """One check, ready to be shown. refusals: why it cannot begin now, empty where it can."""

    check: Check
    why_now: str
    do: str
    stop_when: str
    refusals: tuple[str, ...]
    cautions: tuple[str, ...]
    provisional: str | None


def order(state: JobState) -> tuple[Check, ...]:
    """The checks in the order of a visit; within a stage as the sheet has them."""
    stages = list(Stage)
    return tuple(sorted(state.sheet.check, key=lambda c: stages.index(c.stage)))


def next_check(state: JobState) -> Check | None:
    """The first check in order that was neither read in this phase nor marked not tested.

    Once as-found is locked: the first that must be read again.
    """
    if state.locked is None:
        for check in order(state):
            read = state.reading(check.key, Phase.AS_FOUND) is not None
            if not read and check.key not in state.not_tested:
                return check
        return None
    due = {key for key, _ in state.read_again}
    for turn in state.turns:
        due |= {
            c.key
            for c in state.sheet.check
            if turn.event.screw in c.screws and not state.read_since(c.key, turn.place)
        }
    return next((c for c in order(state) if c.key in due), None)


def prompt(state: JobState, key: str, now: datetime) -> Prompt:
    """What to do for a check. Raises `JobError` where the sheet has none of that key."""
    check = state.check(key)
    hold = Saying("hold until it says enough, at most {never}", never=state.sheet.stall.never)
    stop_when = hold if check.loads else "when the reading is steady"
    refused = readiness(state, check, now)
    return Prompt(
        check=check,
        why_now=_WHY[check.stage],
        do=_what(check),
        stop_when=stop_when,
        refusals=refused,
        cautions=_cautions(state, check),
        provisional=provisional(state, check),
    )


def readiness(state: JobState, check: Check, now: datetime) -> tuple[str, ...]:
    """Why a check cannot begin now; empty where it can."""
    made = {a.event.change for a in state.open_changes}
    found: list[str] = []
    for need in check.needs:
        change = state.sheet.find_change(need)
        if need not in made and change is not None:
            found.append(Saying("First, hands in: {does}.", does=change.does))
    found += [
        Saying("Put this back first: {does}.", does=a.event.does)
        for a in state.open_changes
        if check.key in a.event.read_again and a.event.change not in check.needs
    ]
    card = state.conditions
    if check.engine in {Engine.LOW, Engine.HIGH} and card.engine not in {check.engine, None}:
        found.append(
            Saying(
                "The conditions card says {engine}; this check is at {engine2}.",
                engine=card.engine,
                engine2=check.engine,
            )
        )
    if check.mode and card.mode and card.mode != check.mode:
        found.append(
            Saying(
                "The conditions card says mode {mode}; this check is in {mode2}.",
                mode=card.mode,
                mode2=check.mode,
            )
        )
    if check.loads:
        found += stall_refusals(state, check, now)
    return tuple(found)


def stall_refusals(state: JobState, check: Check, now: datetime) -> list[str]:
    """Why a stall cannot begin now."""
    found = []
    if state.hands is not Hands.UNDER_LOAD:
        found.append("Hands are in; switch to under load once everybody is clear.")
    if state.opened.rebuilt:
        left = [e for e in rules.run_in() if ("run-in", e) not in state.ticked]
        if left:
            found.append(
                Saying("A rebuilt pump is not stalled before its run-in: {left}.", left=left[0])
            )
    if not (seen := state.observed.get(PORTS_RIGHT)) or not seen.holds:
        found.append("Do the wrong-port check first: low idle, neutral.")
    function = state.sheet.find_function(check.function)
    if function is not None:
        if not function.stall:
            found.append(
                Saying(
                    "The sheet does not have {name} stalled by the lever alone.", name=function.name
                )
            )
        if function.kind in {FunctionKind.TRAVEL, FunctionKind.SWING} and not function.blocking:
            found.append(
                Saying(
                    "The sheet gives no way of blocking {name}; it is not stalled.",
                    name=function.name,
                )
            )
    limits = heat.StallLimits.of(state.sheet.stall)
    hot = heat.refusal(limits, state.stalls, now, state.conditions.oil_c)
    return [*found, hot] if hot else found


def _what(check: Check) -> str:
    parts = [
        Saying("Engine {engine}", engine=check.engine.value)
        if check.engine is not Engine.OFF
        else "Engine off"
    ]
    if check.mode:
        parts.append(Saying("mode {mode}", mode=check.mode))
    lever = _LEVER[check.lever]
    parts.append(joined((lever, check.function), ", ") if check.function else lever)
    if check.stop:
        parts.append(check.stop)
    return Saying("{what}.", what=joined(parts))


def _cautions(state: JobState, check: Check) -> tuple[str, ...]:
    moments = ["under load"] if check.lever is not Lever.NEUTRAL else []
    function = state.sheet.find_function(check.function)
    if function is not None and function.kind in {FunctionKind.TRAVEL, FunctionKind.SWING}:
        moments.append(function.kind.value)
    texts = [c.text for c in rules.cautions(*moments)]
    if function is not None and function.blocking:
        texts.append(Saying("Blocked as the sheet says: {blocking}.", blocking=function.blocking))
    return (*check.cautions, *texts, rules.deference())
