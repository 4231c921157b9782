"""Page one: what a customer reads."""

from __future__ import annotations

from gaugebench.analyse.verdict import Outcome
from gaugebench.model.job import Phase
from gaugebench.model.saying import Saying, Written, joined
from gaugebench.model.sheet import Check
from gaugebench.procedure.asfound import as_found
from gaugebench.procedure.judge import verdict_of
from gaugebench.procedure.limiting import Standing, table
from gaugebench.procedure.pumps import pump_rows
from gaugebench.procedure.rules import deference
from gaugebench.procedure.state import JobState
from gaugebench.procedure.words import band_text, number, shown_unit
from gaugebench.report.blocks import Block, Heading, Signatures, Text, Tone
from gaugebench.report.looks import day_and_time


def summary(state: JobState, pressure: str) -> list[Block]:
    """What was found, what was done, what is left, in plain sentences."""
    return [
        Heading(Saying("In short"), 2),
        *_counts(state),
        *_found(state),
        *_adjusted(state, pressure),
        *_left(state, pressure),
        *_limiting(state),
        Text(_never(state), Tone.SMALL),
        Text(deference(), Tone.SMALL),
        Heading(Saying("Signed"), 2),
        signatures(state),
    ]


def _counts(state: JobState) -> list[Block]:
    groups = _groups(state)
    total = len(state.sheet.check)
    read = sum(len(g) for g in groups.values())
    passed, failed = groups.get(Outcome.PASS, []), groups.get(Outcome.FAIL, [])
    unsure, plain = groups.get(Outcome.CANNOT_TELL, []), groups.get(None, [])
    parts = [Saying("{count} lie in their bands", count=len(passed))]
    parts += [Saying("{count} lie outside", count=len(failed))] if failed else []
    parts += [Saying("of {count} it cannot be told", count=len(unsure))] if unsure else []
    if plain:
        parts.append(Saying("{count} have no band and were recorded", count=len(plain)))
    rest = total - read
    known = Saying("{read} of {total} checks were read.", read=read, total=total)
    if rest:
        known = Saying(
            "{read} of {total} checks were read; {rest} were not tested (see “What was not"
            " tested”).",
            read=read,
            total=total,
            rest=rest,
        )
    stand = Saying("So far, {parts}.", parts=joined(parts, ", "))
    if state.locked:
        stand = Saying("As the machine was left, {parts}.", parts=joined(parts, ", "))
    found: list[Block] = [Text(joined((known, stand), " "))]
    if unsure:
        told = Saying("Cannot be told from the reading: {checks}.", checks=_titles(unsure))
        found.append(Text(told, Tone.OPEN))
    return found


def _titles(checks: list[Check]) -> str:
    return joined(Written(c.title) for c in checks)


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
        return [Text(Saying("As found, nothing that was read lay outside its band."))]
    told = Saying("As found, outside their bands: {checks}.", checks=_titles(outside))
    found: list[Block] = [Text(told)]
    shown = [r.title for r in table(before) if r.standing is Standing.SHOWN]
    if shown:
        found.append(Text(Saying("What that came of: {causes}.", causes=joined(shown))))
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
                Saying(
                    "Adjusted: {check}, from {before} to {after} (band {band}).",
                    check=Written(check.title),
                    before=number(before.value, there),
                    after=number(after.value, there),
                    band=band_text(check, pressure),
                )
            )
        )
    return found or [Text(Saying("Nothing was adjusted."))]


def _left(state: JobState, pressure: str) -> list[Block]:
    found: list[Block] = []
    for check in state.sheet.check:
        reading = state.latest(check.key)
        verdict = verdict_of(state, check, reading) if reading else None
        if reading is None or verdict is None or verdict.outcome is not Outcome.FAIL:
            continue
        values = {
            "check": Written(check.title),
            "value": number(reading.value, shown_unit(check, pressure)),
            "band": band_text(check, pressure),
        }
        told = Saying("Outside its band: {check}, {value} (band {band}).", **values)
        why = state.not_adjusted.get(check.key)
        if why:
            told = Saying(
                "Outside its band: {check}, {value} (band {band}); not adjusted: {why}.",
                **values,
                why=Written(why),
            )
        found.append(Text(told, Tone.BAD))
    return found


def _limiting(state: JobState) -> list[Block]:
    first = table(state)[0]
    if first.standing is Standing.NOTHING:
        return [Text(Saying("{title}.", title=first.title))]
    return [
        Text(Saying("What limits it now: {cause}.", cause=first.title), Tone.OPEN),
        Text(Saying("Next: {what}", what=first.next_check)),
    ]


def _never(state: JobState) -> str:
    sentences: list[str] = [Saying("A pressure by itself does not show that a pump is sound.")]
    for pump in pump_rows(state):
        told = Saying(
            "Nothing is said of pump {pump} itself, since this was not measured: {wanting}.",
            pump=pump.pump,
            wanting=joined(pump.needed, ", "),
        )
        sentences.append(told if pump.needed else pump.text)
    return joined(sentences, " ")


def signatures(state: JobState) -> Signatures:
    """A line for each signature that a job has room for."""
    lines = []
    for phase in Phase:
        for capacity in ("technician", "customer"):
            signed = [s for s in state.signatures if s.phase is phase and s.capacity == capacity]
            name = Written(signed[-1].who if signed else "")
            when = day_and_time(signed[-1].at) if signed else ""
            lines.append((joined((phase.value, capacity), ", "), name, when))
    return Signatures(tuple(lines))
