"""What moves: cycle times, torque, the two pumps side by side, and travel."""

from __future__ import annotations

from gaugebench.model.figures import Absent, Answer
from gaugebench.model.job import Phase, Value
from gaugebench.model.saying import Saying, Written, fixed
from gaugebench.procedure import balance, cycles, merging, torque, travel
from gaugebench.procedure.state import JobState
from gaugebench.procedure.words import number
from gaugebench.quantity import show
from gaugebench.report.blocks import Block, Heading, Table, Text, Tone, row


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
                row(Written(check.title), phase.value, str(c.count), number(c.mean, "s"),
                    show(c.spread_s, "s"), corrected, flow)
            )  # fmt: skip
    if rows:
        head = (
            Saying("Time"),
            Saying("When"),
            Saying("Repeats"),
            Saying("Mean"),
            Saying("Spread"),
            Saying("At rated speed"),
            Saying("Flow, estimate"),
        )
        name = Saying("Cycle times")
        found += [
            Heading(name),
            Table(name, head, tuple(rows), (20, 10, 9, 15, 10, 20, 20)),
        ]
    worth = [pair.words for phase in Phase for pair in merging.compared(state, phase)]
    if worth:
        found.append(Heading(Saying("Merge and regeneration, on and off")))
        found += [Text(words) for words in worth]
    pairs = balance.comparisons(state, pressure)
    lines = balance.flow_words(state)
    if pairs or lines:
        found.append(Heading(Saying("The two pumps side by side")))
        found += [Text(line) for line in lines]
        found += [
            Text(Saying("{words}; {meaning}.", words=p.words, meaning=p.meaning)) for p in pairs
        ]
    if state.load_points:
        judged = torque.torque(state)
        found += [Heading(Saying("Torque")), Text(judged.cause)]
        found += [Text(_load_point(p, pressure), Tone.SMALL) for p in judged.points]
    tracks = travel.track_words(state)
    if tracks:
        found += [Heading(Saying("Raised tracks")), *(Text(line) for line in tracks)]
    if state.walks:
        found += [Heading(Saying("Straight travel")), *(Text(t) for t in travel.judgements(state))]
        found += [
            Text(Saying("{line}.", line=line), Tone.SMALL) for line in travel.reading_words(state)
        ]
    return found


def _load_point(point: torque.Point, pressure: str) -> str:
    values = {
        "sum": show(point.sum_pa, pressure),
        "rpm": fixed(point.rpm),
        "drop": fixed(point.drop_rpm),
    }
    if point.why:
        return Saying(
            "Sum of mains {sum} at {rpm} rpm, {drop} rpm below unloaded (not judged: {why}).",
            **values,
            why=point.why,
        )
    return Saying("Sum of mains {sum} at {rpm} rpm, {drop} rpm below unloaded.", **values)


def _answer(answer: Answer, shown_in: str) -> str:
    if isinstance(answer, Absent):
        return answer.reason
    inside = "s" if shown_in == "s" else "m³/s"
    return number(Value(value=answer.value, unit=inside, expanded=answer.expanded), shown_in)
