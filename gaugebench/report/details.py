"""The pages behind page one: checks, causes, conditions, what was not tested, cautions."""

from __future__ import annotations

from gaugebench.analyse.verdict import Outcome
from gaugebench.model.job import HandsSet, Phase, SwapJudged, SwapOutcome
from gaugebench.model.saying import Saying, Written, joined
from gaugebench.model.sheet import Check
from gaugebench.procedure import costs, swaps
from gaugebench.procedure.asfound import as_found
from gaugebench.procedure.judge import verdict_of
from gaugebench.procedure.limiting import Standing, table
from gaugebench.procedure.prompt import order
from gaugebench.procedure.rules import cautions, deference, label
from gaugebench.procedure.state import JobState
from gaugebench.procedure.words import band_text, conditions_text, shown_unit
from gaugebench.quantity import unit
from gaugebench.report.blocks import Block, Cell, Data, Heading, Table, Text, Tone, row
from gaugebench.report.cells import reading_cell, verdict_cell
from gaugebench.report.looks import time_of_day
from gaugebench.report.names import CHECK


def checks(state: JobState, pressure: str) -> list[Block]:
    """The table of checks, the rule of the verdicts under it."""
    rows = []
    for check in order(state):
        found = state.reading(check.key, Phase.AS_FOUND)
        left = state.reading(check.key, Phase.AS_LEFT)
        stays = check.key in state.not_adjusted
        rows.append(
            (
                Cell(Written(check.title)),
                Cell(band_text(check, pressure)),
                reading_cell(check, found, pressure),
                verdict_cell(state, check, found),
                Cell(Saying("not adjusted"))
                if stays and not left
                else reading_cell(check, left, pressure),
                verdict_cell(state, check, left) if left else Cell("–"),
                Cell(Written(check.source), Tone.SMALL),
            )
        )
    verdict = Saying("Verdict")
    head = (
        CHECK,
        Saying("Band"),
        Saying("As found"),
        verdict,
        Saying("As left"),
        verdict,
        Saying("Source of the band"),
    )
    return [
        Heading(Saying("Checks")),
        Table(Saying("Checks"), head, tuple(rows), (21, 19, 14, 11.5, 14, 11.5, 13)),
        figures(state, pressure),
        Text(
            Saying(
                "Pass: the reading lies in its band, fail: outside of it, and cannot tell: too near"
                " a limit for the uncertainty of the reading. The rule is {rule}. ± is the expanded"
                " uncertainty, k = 2: the true value lies within it with about 95 % confidence."
                " Pressures are above that of the air around. A dash: not read again.",
                rule=state.decision.words,
            ),
            Tone.SMALL,
        ),
        *_reasons(state),
    ]


def figures(state: JobState, pressure: str) -> Data:
    """The readings as plain numbers, for a workbook: band, as found, as left, U at k = 2."""
    rows = []
    for check in order(state):
        there = shown_unit(check, pressure)
        scale = unit(there)
        band = check.limits
        numbers: list[float | None] = [
            None if limit is None else scale.from_inside(limit)
            for limit in (band.low if band else None, band.high if band else None)
        ]
        for phase in Phase:
            reading = state.reading(check.key, phase)
            numbers += [None, None]
            if reading is not None:
                numbers[-2] = scale.from_inside(reading.value.value)
                expanded = reading.value.expanded
                numbers[-1] = None if expanded is None else expanded / scale.factor
        rows.append((Written(check.title), Written(there), *numbers))
    doubt = Written("U")
    head = (
        CHECK,
        Saying("Unit"),
        Saying("Band low"),
        Saying("Band high"),
        Saying("As found"),
        doubt,
        Saying("As left"),
        doubt,
    )
    return Data(Saying("Figures"), head, tuple(rows))


def _reasons(state: JobState) -> list[Block]:
    found: list[Block] = []
    for check in order(state):
        reading = state.latest(check.key)
        verdict = verdict_of(state, check, reading) if reading else None
        said = [verdict.reason] if verdict and verdict.outcome is Outcome.CANNOT_TELL else []
        said += reading.cautions if reading else ()
        if said:
            why = joined(map(_sentence, said), " ")
            told = Saying("{check}: {why}", check=Written(check.title), why=why)
            found.append(Text(told, Tone.SMALL))
    return found


def _sentence(text: str) -> str:
    return text if text.endswith(".") else Saying("{text}.", text=text)


def limits(state: JobState, pressure: str) -> list[Block]:
    """What was wrong as found, and what limits now where it is another."""
    found: list[Block] = [Heading(Saying("What limits it, and where the fault lies"))]
    before = as_found(state)
    if before.readings and before.readings != state.readings:
        name = Saying("Causes as found")
        found += [Heading(Saying("As found"), 3), _causes(before, pressure, name)]
        found.append(Heading(Saying("As left"), 3))
    found.append(_causes(state, pressure, Saying("Causes")))
    rules = Saying("The rules are {label}; the machine's own sheet wins.", label=label())
    found.append(Text(rules, Tone.SMALL))
    found += [Text(Saying("{cost}.", cost=c.text), Tone.SMALL) for c in costs.of_job(state)]
    found += [Text(_exchanged(s)) for s in state.swaps]
    return found


def _exchanged(judged: SwapJudged) -> str:
    """What was exchanged, and what that showed."""
    swap = swaps.find(judged.swap)
    what = swap.title if swap else Written(judged.swap)
    match judged.outcome:
        case SwapOutcome.FOLLOWED:
            return Saying("{what}: the fault followed; {why}.", what=what, why=judged.why)
        case SwapOutcome.STAYED:
            return Saying("{what}: the fault stayed; {why}.", what=what, why=judged.why)
        case SwapOutcome.CANNOT_TELL:
            return Saying("{what}: the fault cannot be told; {why}.", what=what, why=judged.why)


def _causes(state: JobState, pressure: str, name: str) -> Table:
    """The causes that something speaks for, those that are shown first."""
    shown = (Standing.SHOWN, Standing.COVERED, Standing.CANNOT_TELL, Standing.NOTHING)
    rows = [r for r in table(state, pressure) if r.standing in shown or r.evidence_for]
    cells = tuple(
        row(
            r.title,
            r.standing.value,
            joined(r.evidence_for),
            _against(r.evidence_against, r.missing),
            r.next_check,
        )
        for r in rows
        if r.standing is not Standing.RULED_OUT
    )
    head = (
        Saying("Cause"),
        Saying("Stands"),
        Saying("For it"),
        Saying("Against it, or not known"),
        Saying("Next"),
    )
    return Table(name, head, cells, (22, 11, 24, 22, 22))


def _against(against: tuple[str, ...], missing: tuple[str, ...]) -> str:
    return joined((*against, *(Saying("not known: {what}", what=m) for m in missing)))


def conditions(state: JobState) -> list[Block]:
    """The conditions of every reading, and when hands were in and when it was under load."""
    rows = tuple(
        row(time_of_day(r.at), Written(state.check(r.check).title), r.phase.value,
            conditions_text(r.conditions), r.how.value, Written(r.source.trace or "–"))
        for _, r in state.readings
    )  # fmt: skip
    name = Saying("Conditions")
    found: list[Block] = [Heading(name)]
    head = (Saying("At"), CHECK, Saying("When"), name, Saying("How"), Saying("Trace"))
    found.append(Table(name, head, rows, (7, 25, 10, 30, 14, 14)))
    states = joined(map(_state_of_work, state.hands_log))
    if states:
        found.append(Text(Saying("States of the work: {states}.", states=states), Tone.SMALL))
    return found


def _state_of_work(hands: HandsSet) -> str:
    values = {"at": time_of_day(hands.at), "hands": hands.hands.value}
    if not hands.confirmed_by:
        return Saying("{at} {hands}", **values)
    return Saying("{at} {hands} (clear: {who})", **values, who=Written(hands.confirmed_by))


def not_tested(state: JobState) -> list[Block]:
    """What was not tested, and why; what stays out of its band on purpose."""
    found: list[Block] = [Heading(Saying("What was not tested"))]
    found += [
        Text(Saying("{check}: {why}.", check=Written(check.title), why=_why_not(state, check)))
        for check in state.sheet.check
        if state.latest(check.key) is None
    ]
    if len(found) == 1:
        found.append(Text(Saying("Every check of the sheet was read.")))
    notes = dict.fromkeys(n.text for n in state.notes)
    found += [Text(Saying("Note: {note}", note=Written(note))) for note in notes]
    return found


def _why_not(state: JobState, check: Check) -> str:
    why = state.not_tested.get(check.key)
    return Saying("no reason was given") if why is None else Written(why)


def warnings(state: JobState) -> list[Block]:
    """The cautions that belong to reading this report."""
    texts = [c.text for c in cautions("report", "hands in")]
    return [
        Heading(Saying("Cautions")),
        *(Text(Written(own), Tone.SMALL) for own in state.sheet.cautions),
        *(Text(text, Tone.SMALL) for text in (*texts, deference())),
    ]
