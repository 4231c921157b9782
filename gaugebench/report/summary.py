"""Page one: what a customer reads."""

from __future__ import annotations

from gaugebench.analyse.verdict import Outcome
from gaugebench.model.job import Phase
from gaugebench.model.sheet import Check
from gaugebench.procedure.asfound import as_found
from gaugebench.procedure.judge import verdict_of
from gaugebench.procedure.limiting import Standing, table
from gaugebench.procedure.pumps import pump_rows
from gaugebench.procedure.rules import deference
from gaugebench.procedure.state import JobState
from gaugebench.procedure.words import band_text, number, shown_unit
from gaugebench.report.blocks import Block, Heading, Signatures, Text, Tone


def summary(state: JobState, pressure: str) -> list[Block]:
    """What was found, what was done, what is left, in plain sentences."""
    return [
        Heading("In short", 2),
        *_counts(state),
        *_found(state),
        *_adjusted(state, pressure),
        *_left(state, pressure),
        *_limiting(state),
        Text(_never(state), Tone.SMALL),
        Text(deference(), Tone.SMALL),
        Heading("Signed", 2),
        signatures(state),
    ]


def _counts(state: JobState) -> list[Block]:
    groups = _groups(state)
    total = len(state.sheet.check)
    read = sum(len(g) for g in groups.values())
    passed, failed = groups.get(Outcome.PASS, []), groups.get(Outcome.FAIL, [])
    unsure, plain = groups.get(Outcome.CANNOT_TELL, []), groups.get(None, [])
    parts = [f"{len(passed)} lie in their bands"]
    parts += [f"{len(failed)} lie outside"] if failed else []
    parts += [f"of {len(unsure)} it cannot be told"] if unsure else []
    parts += [f"{len(plain)} have no band and were recorded"] if plain else []
    rest = total - read
    left_out = f"; {rest} were not tested (see “What was not tested”)" if rest else ""
    text = f"{read} of {total} checks were read{left_out}. "
    when = "As the machine was left" if state.locked else "So far"
    found: list[Block] = [Text(f"{text}{when}, {', '.join(parts)}.")]
    if unsure:
        names = "; ".join(c.title for c in unsure)
        found.append(Text(f"Cannot be told from the reading: {names}.", Tone.OPEN))
    return found


def _groups(state: JobState) -> dict[Outcome | None, list[Check]]:
    """The checks that were read, by what their latest reading came to."""
    groups: dict[Outcome | None, list[Check]] = {}
    for check in state.sheet.check:
        reading = state.latest(check.key)
        if reading is not None:
            verdict = verdict_of(state, check, reading)
            groups.setdefault(verdict.outcome if verdict else None, []).append(check)
    return groups


def _found(state: JobState) -> list[Block]:
    """What was wrong before anything was adjusted, and what that came of."""
    before = as_found(state)
    if not state.turns or before.readings == state.readings:
        return []
    outside = _groups(before).get(Outcome.FAIL, [])
    if not outside:
        return [Text("As found, nothing that was read lay outside its band.")]
    names = "; ".join(c.title for c in outside)
    found: list[Block] = [Text(f"As found, outside their bands: {names}.")]
    shown = [r.title for r in table(before) if r.standing is Standing.SHOWN]
    if shown:
        found.append(Text(f"What that came of: {'; '.join(shown)}."))
    return found


def _adjusted(state: JobState, pressure: str) -> list[Block]:
    found: list[Block] = []
    for check in state.sheet.check:
        before = state.reading(check.key, Phase.AS_FOUND)
        after = state.reading(check.key, Phase.AS_LEFT)
        turned = any(t.event.screw in check.screws for t in state.turns)
        if before is None or after is None or not turned:
            continue
        there = shown_unit(check, pressure)
        found.append(
            Text(
                f"Adjusted: {check.title}, from {number(before.value, there)} to "
                f"{number(after.value, there)} (band {band_text(check, pressure)})."
            )
        )
    return found or [Text("Nothing was adjusted.")]


def _left(state: JobState, pressure: str) -> list[Block]:
    found: list[Block] = []
    for check in state.sheet.check:
        reading = state.latest(check.key)
        verdict = verdict_of(state, check, reading) if reading else None
        if reading is None or verdict is None or verdict.outcome is not Outcome.FAIL:
            continue
        why = state.not_adjusted.get(check.key)
        reason = f"; not adjusted: {why}" if why else ""
        found.append(
            Text(
                f"Outside its band: {check.title}, "
                f"{number(reading.value, shown_unit(check, pressure))} "
                f"(band {band_text(check, pressure)}){reason}.",
                Tone.BAD,
            )
        )
    return found


def _limiting(state: JobState) -> list[Block]:
    first = table(state)[0]
    if first.standing is Standing.NOTHING:
        return [Text(f"{first.title}.")]
    return [
        Text(f"What limits it now: {first.title}.", Tone.OPEN),
        Text(f"Next: {first.next_check}"),
    ]


def _never(state: JobState) -> str:
    sentences = ["A pressure by itself does not show that a pump is sound."]
    for pump in pump_rows(state):
        wanting = ", ".join(pump.needed)
        sentences.append(
            f"Nothing is said of pump {pump.pump} itself, since this was not measured: {wanting}."
            if wanting
            else pump.text
        )
    return " ".join(sentences)


def signatures(state: JobState) -> Signatures:
    """A line for each signature that a job has room for."""
    lines = []
    for phase in Phase:
        for capacity in ("technician", "customer"):
            signed = [s for s in state.signatures if s.phase is phase and s.capacity == capacity]
            name = signed[-1].who if signed else ""
            when = f"{signed[-1].at:%Y-%m-%d %H:%M}" if signed else ""
            lines.append((f"{phase}, {capacity}", name, when))
    return Signatures(tuple(lines))
