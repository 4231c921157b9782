"""Verdicts of a job's readings, and what keeps a verdict open."""

from __future__ import annotations

from gaugebench.analyse.verdict import Outcome, Verdict, judge
from gaugebench.model.job import Phase, ReadingTaken
from gaugebench.model.saying import Saying
from gaugebench.model.sheet import Check
from gaugebench.model.terms import Engine, Stage
from gaugebench.procedure.state import JobState

_BEFORE_PILOT = {Stage.PREPARE, Stage.ENGINE, Stage.OIL, Stage.ZERO, Stage.WRONG_PORT, Stage.PILOT}


def verdict_of(state: JobState, check: Check, reading: ReadingTaken) -> Verdict | None:
    """The verdict by the job's rule, or None where the sheet gives no band."""
    band = check.limits
    if band is None:
        return None
    return judge(reading.value.value, reading.value.expanded, band, state.decision)


def outcome(state: JobState, key: str, phase: Phase) -> Outcome | None:
    """The outcome of a check in a phase; None where it was not read or has no band."""
    reading = state.reading(key, phase)
    verdict = verdict_of(state, state.check(key), reading) if reading else None
    return verdict.outcome if verdict else None


def provisional(state: JobState, check: Check) -> str | None:
    """Why a check's verdict is provisional, or None where it stands.

    All after the pilot stay provisional until the pilot is in its band at both idles.
    """
    if check.stage in _BEFORE_PILOT:
        return None
    pilots = [c for c in state.sheet.check if c.stage is Stage.PILOT and c.band is not None]
    idles = {c.engine for c in pilots} & {Engine.LOW, Engine.HIGH}
    if idles != {Engine.LOW, Engine.HIGH}:
        return "provisional: the sheet has no pilot band at both idles"
    for pilot in pilots:
        latest = state.latest(pilot.key)
        verdict = verdict_of(state, pilot, latest) if latest else None
        if verdict is None:
            return Saying("provisional: “{title}” was not read yet", title=pilot.title)
        if verdict.outcome is not Outcome.PASS:
            return Saying("provisional: “{title}” is not proved in its band", title=pilot.title)
    return None
