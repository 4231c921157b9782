"""Cells of a report's table of checks."""

from __future__ import annotations

from gaugebench.analyse.verdict import Outcome
from gaugebench.model.job import ReadingTaken
from gaugebench.model.saying import Saying
from gaugebench.model.sheet import Check
from gaugebench.procedure.judge import provisional, verdict_of
from gaugebench.procedure.state import JobState
from gaugebench.procedure.words import number, shown_unit
from gaugebench.report.blocks import Cell, Tone

_TONES = {Outcome.PASS: Tone.GOOD, Outcome.FAIL: Tone.BAD, Outcome.CANNOT_TELL: Tone.OPEN}


def reading_cell(check: Check, reading: ReadingTaken | None, pressure: str) -> Cell:
    """A reading, or a dash."""
    return Cell(number(reading.value, shown_unit(check, pressure)) if reading else "–")


def verdict_cell(state: JobState, check: Check, reading: ReadingTaken | None) -> Cell:
    """A verdict, with “provisional” where it is."""
    if reading is None:
        why = state.not_tested.get(check.key)
        return Cell(Saying("not tested") if why else "–")
    verdict = verdict_of(state, check, reading)
    if verdict is None:
        return Cell(Saying("recorded"))
    words: str = verdict.outcome.value
    if provisional(state, check):
        words = Saying("{what} (provisional)", what=words)
    return Cell(words, _TONES[verdict.outcome])
