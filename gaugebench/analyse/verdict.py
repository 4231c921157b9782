"""Is it within its band? Verdicts after JCGM 106:2012, with the rule they were given by.

A verdict is “pass”, “fail” or “cannot tell”. It is never given where the band is narrower than the
uncertainty of the measurement, whatever the reading.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from statistics import NormalDist
from typing import Protocol

from gaugebench.model.saying import Saying
from gaugebench.quantity import Number

_NORMAL = NormalDist()


class Outcome(StrEnum):
    """What can be said."""

    PASS = "pass"  # noqa: S105 (a verdict, no password)
    FAIL = "fail"
    CANNOT_TELL = "cannot tell"


class Rule(StrEnum):
    """How a reading near a limit is judged."""

    SIMPLE = "simple"
    """By the reading alone, as a needle is read. On the limit it is wrong half of the time."""
    GUARDED = "guarded"
    """A pass must clear the limit by U, and so must a fail (JCGM 106 8.3.2, w = U)."""
    PROBABILITY = "probability"
    """A pass must be at least so probable, and so must a fail (JCGM 106 8.3.1, one-sided)."""


@dataclass(frozen=True, slots=True)
class Decision:
    """The rule as a setting. probability: in (0.5, 1), for `Rule.PROBABILITY` alone."""

    rule: Rule = Rule.GUARDED
    probability: float = 0.95

    def __post_init__(self) -> None:
        if not 0.5 < self.probability < 1.0:
            raise ValueError("a verdict's probability lies between 0.5 and 1")

    @property
    def words(self) -> str:
        """The rule as it is printed beside a verdict."""
        return {
            Rule.SIMPLE: "simple acceptance: by the reading alone (JCGM 106)",
            Rule.GUARDED: "guarded: a limit must be cleared by U, k = 2 (JCGM 106)",
            Rule.PROBABILITY: Saying(
                "at least {percent} % probable (JCGM 106)",
                percent=Number(f"{100 * self.probability:g}"),
            ),
        }[self.rule]


class Band(Protocol):
    """The limits that a value must lie within; None where there is none on that side.

    `gaugebench.model.band.Band` is one, and so is `Limits`.
    """

    @property
    def low(self) -> float | None:
        """The lower limit."""

    @property
    def high(self) -> float | None:
        """The upper limit."""


@dataclass(frozen=True, slots=True)
class Limits:
    """A band of plain numbers. Raises `ValueError` for one without sense."""

    low: float | None = None
    high: float | None = None

    def __post_init__(self) -> None:
        if self.low is None and self.high is None:
            raise ValueError("a band needs a limit")
        if self.low is not None and self.high is not None and self.low >= self.high:
            raise ValueError("a band's lower limit lies below its upper limit")


def inside_by(value: float, band: Band) -> float:
    """How far a value lies inside the nearest limit; negative outside."""
    below = [] if band.high is None else [band.high - value]
    above = [] if band.low is None else [value - band.low]
    return min(below + above)


def acceptance_limits(band: Band, guard: float) -> tuple[float | None, float | None]:
    """The limits drawn in by a guard band (JCGM 106 8.3)."""
    return (
        None if band.low is None else band.low + guard,
        None if band.high is None else band.high - guard,
    )


@dataclass(frozen=True, slots=True)
class Verdict:
    """What can be said, how probable it is that the value conforms, and why.

    probability: of the true value lying in the band, for a normal distribution about the reading;
    None where no uncertainty is known. guard: by how much the limits were drawn in, unit of the
    value. rule and reason: in words, to be printed.
    """

    outcome: Outcome
    probability: float | None
    guard: float
    rule: str
    reason: str


def conformance(value: float, standard: float, band: Band) -> float:
    """The probability that the true value lies in the band (JCGM 106 7.3 to 7.5).

    standard: the standard uncertainty (k = 1) of the value, above 0, same unit.
    """
    if standard <= 0.0:
        raise ValueError("a conformance probability needs an uncertainty above zero")
    upper = 1.0 if band.high is None else _NORMAL.cdf((band.high - value) / standard)
    lower = 0.0 if band.low is None else _NORMAL.cdf((band.low - value) / standard)
    return upper - lower


def capability(band: Band, expanded: float) -> float | None:
    """The measuring capability index C_m: half the band over U, k = 2 (JCGM 106 7.6.3).

    None for a band with one limit, which has no width.
    """
    return None if band.low is None or band.high is None else (band.high - band.low) / 2 / expanded


def judge(
    value: float, expanded: float | None, band: Band, decision: Decision | None = None
) -> Verdict:
    """The verdict on a value with its expanded uncertainty (k = 2), all in one unit.

    `expanded` is None where it could not be worked out: then nothing can be told.
    """
    chosen = decision or Decision()
    standard = (expanded or 0.0) / 2
    if expanded is None or standard <= 0.0:
        reason = "the uncertainty of the reading is not known"
        return Verdict(Outcome.CANNOT_TELL, None, 0.0, chosen.words, reason)
    probability = conformance(value, standard, band)
    ratio = capability(band, expanded)
    if ratio is not None and ratio < 1.0:
        reason = "the band is narrower than the uncertainty of the reading; use a better transducer"
        return Verdict(Outcome.CANNOT_TELL, probability, 0.0, chosen.words, reason)
    guard = _guard(expanded, chosen)
    inside = inside_by(value, band)
    if chosen.rule is Rule.PROBABILITY:
        passes = probability >= chosen.probability
        fails = 1.0 - probability >= chosen.probability
    else:
        passes, fails = inside >= guard, inside < -guard
    if passes:
        return Verdict(
            Outcome.PASS, probability, guard, chosen.words, "the reading lies inside its band"
        )
    if fails:
        return Verdict(
            Outcome.FAIL, probability, guard, chosen.words, "the reading lies outside its band"
        )
    reason = (
        "the reading lies inside its band, but nearer to the limit than its uncertainty"
        if inside >= 0
        else "the reading lies outside its band, but nearer to the limit than its uncertainty"
    )
    return Verdict(Outcome.CANNOT_TELL, probability, guard, chosen.words, reason)


def _guard(expanded: float, decision: Decision) -> float:
    if decision.rule is Rule.SIMPLE:
        return 0.0
    if decision.rule is Rule.GUARDED:
        return expanded
    return _NORMAL.inv_cdf(decision.probability) * expanded / 2
