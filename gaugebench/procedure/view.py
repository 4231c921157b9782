"""The whole worksheet as it is shown: plain text and states, ready for a desk, no Qt in it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from gaugebench.analyse.verdict import Outcome
from gaugebench.model.job import Hands, Phase, ReadingTaken
from gaugebench.model.sheet import Check
from gaugebench.procedure import closing, heat, limiting, recognise, rules, screws, swaps
from gaugebench.procedure.judge import provisional, verdict_of
from gaugebench.procedure.prompt import Prompt, next_check, order, prompt
from gaugebench.procedure.pumps import PumpRow, pump_rows
from gaugebench.procedure.state import JobState
from gaugebench.procedure.words import band_text, conditions_text, number, shown_unit


@dataclass(frozen=True, slots=True)
class Side:
    """A reading of one phase: its text and outcome, "" and None where there is none."""

    text: str
    outcome: Outcome | None
    reason: str


@dataclass(frozen=True, slots=True)
class CheckRow:
    """A check's row. state: `to do`, `read`, `not tested`, `not adjusted` or `to read again`."""

    key: str
    title: str
    stage: str
    band: str
    source: str
    found: Side
    left: Side
    state: str
    provisional: str | None


@dataclass(frozen=True, slots=True)
class Waiting:
    """An offer in the queue. choices: check keys and titles, best first."""

    offer: str
    text: str
    sure: str
    choices: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Board:
    """Everything at once. next: what to do now; stall prompts and screw advice are there only in
    the state of the work that they belong to."""

    hands: Hands
    hands_text: str
    phase: Phase
    conditions: str
    next: Prompt | None
    rows: tuple[CheckRow, ...]
    queue: tuple[Waiting, ...]
    advice: tuple[tuple[str, str, screws.Proposal], ...]
    warnings: tuple[str, ...]
    causes: tuple[limiting.Row, ...]
    swap: swaps.Swap | None
    pumps: tuple[PumpRow, ...]
    put_back: tuple[closing.PutBack, ...]
    blocks: tuple[str, ...]
    run_in: tuple[tuple[str, bool], ...]
    """What is done before a rebuilt pump is stalled, and whether it was; empty for another job."""
    cautions: tuple[str, ...]
    """What belongs to the state of the work; the last one defers to the maker's sheet."""
    wait: str
    """Why the next stall must wait, or "" where it need not."""


_HANDS = {
    Hands.IN: "HANDS IN: engine off, or low idle with the lever locked. Levers stay untouched.",
    Hands.UNDER_LOAD: "UNDER LOAD: everybody clear. Hands stay off screws, hoses and fittings.",
}


def board(state: JobState, now: datetime, pressure: str = "bar") -> Board:
    """The worksheet now. pressure: the unit that pressures are shown in."""
    following = next_check(state)
    causes = limiting.table(state, pressure)
    warning = screws.relief_warning(state)
    return Board(
        hands=state.hands,
        hands_text=_HANDS[state.hands],
        phase=state.phase,
        conditions=conditions_text(state.conditions),
        next=prompt(state, following.key, now) if following else None,
        rows=tuple(_row(state, c, pressure) for c in order(state)),
        queue=_queue(state, pressure),
        advice=_advice(state, pressure),
        warnings=(*swaps.nag(state), *([warning] if warning else [])),
        causes=causes,
        swap=swaps.propose(causes),
        pumps=pump_rows(state),
        put_back=closing.put_back(state),
        blocks=closing.blocks(state),
        run_in=tuple((e, ("run-in", e) in state.ticked) for e in rules.run_in())
        if state.opened.rebuilt
        else (),
        cautions=(
            *state.sheet.cautions,
            *(c.text for c in rules.cautions(state.hands.value)),
            rules.deference(),
        ),
        wait=_wait(state, now),
    )


def _wait(state: JobState, now: datetime) -> str:
    limits = heat.StallLimits.of(state.sheet.stall)
    return heat.refusal(limits, state.stalls, now, state.conditions.oil_c) or ""


def _row(state: JobState, check: Check, pressure: str) -> CheckRow:
    found = state.reading(check.key, Phase.AS_FOUND)
    left = state.reading(check.key, Phase.AS_LEFT)
    return CheckRow(
        key=check.key,
        title=check.title,
        stage=check.stage.value,
        band=band_text(check, pressure),
        source=check.source,
        found=_side(state, check, found, pressure),
        left=_side(state, check, left, pressure),
        state=_standing(state, check),
        provisional=provisional(state, check) if found or left else None,
    )


def _side(state: JobState, check: Check, reading: ReadingTaken | None, pressure: str) -> Side:
    if reading is None:
        return Side("", None, "")
    verdict = verdict_of(state, check, reading)
    text = number(reading.value, shown_unit(check, pressure))
    if verdict is None:
        return Side(text, None, "the sheet gives no band")
    return Side(text, verdict.outcome, verdict.reason)


def _standing(state: JobState, check: Check) -> str:
    if check.key in {key for key, _ in state.read_again}:
        return "to read again"
    touched = [t for t in state.turns if t.event.screw in check.screws]
    if touched and not state.read_since(check.key, touched[-1].place):
        return "to read again"
    if check.key in state.not_adjusted:
        return "not adjusted"
    if state.latest(check.key) is not None:
        return "read"
    return "not tested" if check.key in state.not_tested else "to do"


def _queue(state: JobState, pressure: str) -> tuple[Waiting, ...]:
    return tuple(
        Waiting(
            offer=o.offer,
            text=recognise.describe(state, o, pressure),
            sure=o.sure,
            choices=tuple((f.check, state.check(f.check).title) for f in o.fits),
        )
        for o in state.offers.values()
    )


def _advice(state: JobState, pressure: str) -> tuple[tuple[str, str, screws.Proposal], ...]:
    """Screw advice for every check out of its band: hands in and as-found locked only."""
    if state.hands is not Hands.IN or state.locked is None:
        return ()
    found = []
    for check in order(state):
        latest = state.latest(check.key)
        verdict = verdict_of(state, check, latest) if latest else None
        if verdict is None or verdict.outcome is Outcome.PASS or check.key in state.not_adjusted:
            continue
        found += [
            (check.key, name, screws.propose(state, name, check.key, pressure))
            for name in check.screws
        ]
    return tuple(found)
