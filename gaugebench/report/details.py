"""The pages behind page one: checks, screws, conditions, kit, what was not tested, cautions."""

from __future__ import annotations

from gaugebench.model.figures import Absent, Answer
from gaugebench.model.job import Moment, Phase, SwapOutcome, Value
from gaugebench.procedure import balance, costs, cycles, merging, torque, travel
from gaugebench.procedure.closing import put_back, turns_text
from gaugebench.procedure.judge import verdict_of
from gaugebench.procedure.limiting import Standing, table
from gaugebench.procedure.prompt import order
from gaugebench.procedure.rules import cautions, deference, label
from gaugebench.procedure.state import JobState
from gaugebench.procedure.words import band_text, conditions_text, number, shown_unit
from gaugebench.quantity import Dimension, show, unit
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
            f"Verdicts: {rule}. ± is the expanded uncertainty, k = 2. Gauge pressures.", Tone.SMALL
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
    """What is limiting, and where the fault lies."""
    shown = (Standing.SHOWN, Standing.COVERED, Standing.CANNOT_TELL, Standing.NOTHING)
    rows = [r for r in table(state, pressure) if r.standing in shown or r.evidence_for]
    found: list[Block] = [Heading("What limits it, and where the fault lies")]
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
    found.append(Table("Causes", head, cells, (22, 11, 24, 22, 22)))
    found.append(Text(f"The rules are {label()}; the machine's own sheet wins.", Tone.SMALL))
    found += [Text(f"{c.text}.", Tone.SMALL) for c in costs.of_job(state)]
    found += [
        Text(f"Exchanged ({s.swap}): the fault {_SWAPS[s.outcome]}; {s.why}.") for s in state.swaps
    ]
    return found


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


def kit(state: JobState, pressure: str) -> list[Block]:
    """The kit, with calibration dates and zeros before and after."""
    rows = []
    roles = dict.fromkeys([*(k.role for k in state.kit), *(z.role for z in state.zeros)])
    for role in roles:
        used = [k for k in state.kit if k.role == role]
        zeros = {z.moment: z.value for z in state.zeros if z.role == role}
        k = used[-1] if used else None
        rows.append(
            row(role, k.serial if k else "", k.range_text if k else "", k.accuracy if k else "",
                k.calibrated_on if k else "", k.fitting if k else "",
                *(_zero(zeros.get(m), pressure) for m in ("before", "after")))
        )  # fmt: skip
    if not rows:
        return [Heading("Kit"), Text("No kit was stated for this job.", Tone.WARNING)]
    head = (
        "Role", "Serial", "Range", "Accuracy", "Calibrated", "Fitting", "Zero before", "Zero after"
    )  # fmt: skip
    shares = (16, 12, 14, 11, 13, 18, 13, 13)
    return [Heading("Kit"), Table("Kit", head, tuple(rows), shares)]


def _zero(value: Value | None, pressure: str) -> str:
    if value is None:
        return "not checked"
    return number(value, pressure if value.unit == Dimension.PRESSURE.value else value.unit)


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
    found += [Text(f"Note: {n.text}") for n in state.notes]
    return found


def warnings(state: JobState) -> list[Block]:
    """The cautions that belong to reading this report."""
    texts = [c.text for c in cautions("report", "hands in")]
    return [
        Heading("Cautions"),
        *(Text(t, Tone.SMALL) for t in (*state.sheet.cautions, *texts, deference())),
    ]
