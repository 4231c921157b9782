"""The pages behind page one: checks, screws, conditions, kit, what was not tested, cautions."""

from __future__ import annotations

from gaugebench.model.figures import Absent, Answer
from gaugebench.model.job import Moment, Phase, SwapOutcome, Value
from gaugebench.procedure import balance, costs, cycles, merging, torque, travel
from gaugebench.procedure.asfound import as_found
from gaugebench.procedure.closing import put_back, turns_text
from gaugebench.procedure.judge import verdict_of
from gaugebench.procedure.limiting import Standing, table
from gaugebench.procedure.prompt import order
from gaugebench.procedure.rules import cautions, deference, label
from gaugebench.procedure.state import JobState
from gaugebench.procedure.words import band_text, conditions_text, number, shown_unit
from gaugebench.quantity import show, unit
from gaugebench.report.blocks import Block, Cell, Data, Heading, Table, Text, Tone, row
from gaugebench.report.cells import reading_cell, verdict_cell


def checks(state: JobState, pressure: str) -> list[Block]:
    """The table of checks, the rule of the verdicts under it."""
    rows = []
    for check in order(state):
        found = state.reading(check.key, Phase.AS_FOUND)
        left = state.reading(check.key, Phase.AS_LEFT)
        stays = check.key in state.not_adjusted
        rows.append(
            (
                Cell(check.title),
                Cell(band_text(check, pressure)),
                reading_cell(check, found, pressure),
                verdict_cell(state, check, found),
                Cell("not adjusted") if stays and not left else reading_cell(check, left, pressure),
                verdict_cell(state, check, left) if left else Cell("–"),
                Cell(check.source, Tone.SMALL),
            )
        )
    head = ("Check", "Band", "As found", "Verdict", "As left", "Verdict", "Source of the band")
    rule = state.decision.words
    return [
        Heading("Checks"),
        Table("Checks", head, tuple(rows), (22, 15, 16, 10, 16, 10, 15)),
        figures(state, pressure),
        Text(
            "Pass: the reading lies in its band, fail: outside of it, and cannot tell: too near a "
            f"limit for the uncertainty of the reading. The rule is {rule}. ± is the expanded "
            "uncertainty, k = 2: the true value lies within it with about 95 % confidence. "
            "Pressures are above that of the air around. A dash: not read again.",
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
        rows.append((check.title, there, *numbers))
    head = ("Check", "Unit", "Band low", "Band high", "As found", "U", "As left", "U")
    return Data("Figures", head, tuple(rows))


def _reasons(state: JobState) -> list[Block]:
    found: list[Block] = []
    for check in order(state):
        reading = state.latest(check.key)
        verdict = verdict_of(state, check, reading) if reading else None
        said = [verdict.reason] if verdict and verdict.outcome == "cannot tell" else []
        said += [c.removesuffix(".") for c in reading.cautions] if reading else []
        if said:
            found.append(Text(f"{check.title}: {'; '.join(said)}.", Tone.SMALL))
    return found


def limits(state: JobState, pressure: str) -> list[Block]:
    """What was wrong as found, and what limits now where it is another."""
    found: list[Block] = [Heading("What limits it, and where the fault lies")]
    before = as_found(state)
    if before.readings and before.readings != state.readings:
        found += [Heading("As found", 3), _causes(before, pressure, "Causes as found")]
        found.append(Heading("As left", 3))
    found.append(_causes(state, pressure, "Causes"))
    found.append(Text(f"The rules are {label()}; the machine's own sheet wins.", Tone.SMALL))
    found += [Text(f"{c.text}.", Tone.SMALL) for c in costs.of_job(state)]
    found += [
        Text(f"Exchanged ({s.swap}): the fault {_SWAPS[s.outcome]}; {s.why}.") for s in state.swaps
    ]
    return found


def _causes(state: JobState, pressure: str, name: str) -> Table:
    """The causes that something speaks for, those that are shown first."""
    shown = (Standing.SHOWN, Standing.COVERED, Standing.CANNOT_TELL, Standing.NOTHING)
    rows = [r for r in table(state, pressure) if r.standing in shown or r.evidence_for]
    cells = tuple(
        row(
            r.title,
            r.standing.value,
            "; ".join(r.evidence_for),
            _against(r.evidence_against, r.missing),
            r.next_check,
        )
        for r in rows
        if r.standing is not Standing.RULED_OUT
    )
    head = ("Cause", "Stands", "For it", "Against it, or not known", "Next")
    return Table(name, head, cells, (22, 11, 24, 22, 22))


_SWAPS = {
    SwapOutcome.FOLLOWED: "followed",
    SwapOutcome.STAYED: "stayed",
    SwapOutcome.CANNOT_TELL: "cannot be told",
}


def _against(against: tuple[str, ...], missing: tuple[str, ...]) -> str:
    return "; ".join((*against, *(f"not known: {m}" for m in missing)))


def screws(state: JobState, pressure: str) -> list[Block]:
    """The turn log and what would undo everything."""
    found: list[Block] = [Heading("Screws turned")]
    if not state.turns:
        return [*found, Text("No screw was turned."), *_altered(state)]
    rows = []
    for turn in state.turns:
        check = state.check(turn.event.check)
        there = shown_unit(check, pressure)
        reads: list[Value | None] = [turn.event.before, *(turn.reads.get(m) for m in Moment)]
        rows.append(
            row(
                f"{turn.event.at:%H:%M}",
                turn.event.screw,
                turns_text(turn.event.turns),
                *(number(v, there) if v else "–" for v in reads),
            )
        )
    head = ("At", "Screw", "Turned", "Before", *(m.value.capitalize() for m in Moment))
    found.append(Table("Screws", head, tuple(rows), (7, 16, 20, 15, 15, 15, 15)))
    return [*found, *_altered(state)]


def _altered(state: JobState) -> list[Block]:
    rows = tuple(row(p.what, p.how, "put back" if p.done else "stands") for p in put_back(state))
    if not rows:
        return []
    head = ("What was changed", "What undoes it", "Now")
    return [Heading("To put it all back", 3), Table("Put back", head, rows, (40, 45, 15))]


def flows(state: JobState, pressure: str) -> list[Block]:
    """Cycle times, torque, balance and travel, as far as they were done."""
    found: list[Block] = []
    rows = []
    for check in state.sheet.check:
        for phase in Phase:
            c = cycles.cycle(state, check.key, phase)
            if c is None:
                continue
            corrected, flow = _answer(c.corrected, "s"), _answer(c.flow, "L/min")
            rows.append(
                row(check.title, phase.value, str(c.count), number(c.mean, "s"),
                    show(c.spread_s, "s"), corrected, flow)
            )  # fmt: skip
    if rows:
        head = ("Time", "When", "Repeats", "Mean", "Spread", "At rated speed", "Flow, estimate")
        found += [
            Heading("Cycle times"),
            Table("Cycle times", head, tuple(rows), (20, 10, 9, 15, 10, 20, 20)),
        ]
    worth = [pair.words for phase in Phase for pair in merging.compared(state, phase)]
    if worth:
        found.append(Heading("Merge and regeneration, on and off"))
        found += [Text(words) for words in worth]
    pairs = balance.comparisons(state, pressure)
    lines = balance.flow_words(state)
    if pairs or lines:
        found.append(Heading("The two pumps side by side"))
        found += [Text(line) for line in lines]
        found += [Text(f"{p.words}; {p.meaning}.") for p in pairs]
    if state.load_points:
        judged = torque.torque(state)
        found += [Heading("Torque"), Text(judged.cause)]
        found += [
            Text(
                f"Sum of mains {show(p.sum_pa, pressure)} at {p.rpm:.0f} rpm, {p.drop_rpm:.0f} rpm "
                f"below unloaded" + (f" (not judged: {p.why})." if p.why else "."),
                Tone.SMALL,
            )
            for p in judged.points
        ]
    tracks = travel.track_words(state)
    if tracks:
        found += [Heading("Raised tracks"), *(Text(line) for line in tracks)]
    if state.walks:
        found += [Heading("Straight travel"), *(Text(t) for t in travel.judgements(state))]
        found += [Text(f"{line}.", Tone.SMALL) for line in travel.reading_words(state)]
    return found


def _answer(answer: Answer, shown_in: str) -> str:
    if isinstance(answer, Absent):
        return answer.reason
    inside = "s" if shown_in == "s" else "m³/s"
    return number(Value(value=answer.value, unit=inside, expanded=answer.expanded), shown_in)


def conditions(state: JobState) -> list[Block]:
    """The conditions of every reading, and when hands were in and when it was under load."""
    rows = tuple(
        row(f"{r.at:%H:%M}", state.check(r.check).title, r.phase.value,
            conditions_text(r.conditions), r.how.value, r.source.trace or "–")
        for _, r in state.readings
    )  # fmt: skip
    found: list[Block] = [Heading("Conditions")]
    head = ("At", "Check", "When", "Conditions", "How", "Trace")
    found.append(Table("Conditions", head, rows, (7, 25, 10, 30, 14, 14)))
    states = [
        f"{h.at:%H:%M} {h.hands}" + (f" (clear: {h.confirmed_by})" if h.confirmed_by else "")
        for h in state.hands_log
    ]
    if states:
        found.append(Text(f"States of the work: {'; '.join(states)}.", Tone.SMALL))
    return found


def not_tested(state: JobState) -> list[Block]:
    """What was not tested, and why; what stays out of its band on purpose."""
    found: list[Block] = [Heading("What was not tested")]
    found += [
        Text(f"{check.title}: {state.not_tested.get(check.key, 'no reason was given')}.")
        for check in state.sheet.check
        if state.latest(check.key) is None
    ]
    if len(found) == 1:
        found.append(Text("Every check of the sheet was read."))
    found += [Text(f"Note: {text}") for text in dict.fromkeys(n.text for n in state.notes)]
    return found


def warnings(state: JobState) -> list[Block]:
    """The cautions that belong to reading this report."""
    texts = [c.text for c in cautions("report", "hands in")]
    return [
        Heading("Cautions"),
        *(Text(t, Tone.SMALL) for t in (*state.sheet.cautions, *texts, deference())),
    ]
