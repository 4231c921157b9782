"""What is limiting and where the fault lies: causes against facts, by the rules of a data file.

No scores: a cause is shown, open or ruled out, and says by which facts. Where nothing is shown the
first row is “cannot tell”, with what would have to be read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from gaugebench.analyse.verdict import Outcome
from gaugebench.model.saying import Saying, fill, joined
from gaugebench.procedure.facts import Fact, facts
from gaugebench.procedure.judge import verdict_of
from gaugebench.procedure.rules import load
from gaugebench.procedure.state import JobState

CANNOT_TELL = "cannot tell"
NOTHING = "nothing"
_GO_ON = "Go on with the checks in order."


class Standing(StrEnum):
    """How a cause stands."""

    SHOWN = "shown"
    COVERED = "may come of a row above"
    CANNOT_TELL = "cannot tell"
    OPEN = "open"
    NOTHING = "nothing out of its band"
    RULED_OUT = "ruled out"


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the table. missing: what is not known and would decide it."""

    key: str
    title: str
    standing: Standing
    evidence_for: tuple[str, ...]
    evidence_against: tuple[str, ...]
    missing: tuple[str, ...]
    next_check: str


@dataclass(frozen=True, slots=True)
class _Cause:
    key: str
    title: str
    must: tuple[str, ...]
    given: tuple[str, ...]
    doubt: tuple[str, ...]
    unless: tuple[str, ...]
    against: tuple[str, ...]
    backing: tuple[str, ...]
    covers: tuple[str, ...]
    next_check: str


def table(state: JobState, shown_in: str = "bar") -> tuple[Row, ...]:
    """The causes of the rules against this job's facts: shown first, then open, then ruled out.

    The first row is the first cause to put right, “cannot tell” where none is shown though
    something is amiss, or that nothing was seen out of its band.
    """
    known = facts(state, shown_in)
    causes = _causes(state)
    rows = {c.key: _row(c, known) for c in causes}
    _cover(causes, rows)
    shown = [r for r in rows.values() if r.standing is Standing.SHOWN]
    head = [] if shown else [_head(rows.values(), state)]
    order = [Standing.SHOWN, Standing.COVERED, Standing.OPEN, Standing.RULED_OUT]
    return (*head, *sorted(rows.values(), key=lambda r: order.index(r.standing)))


def _causes(state: JobState) -> list[_Cause]:
    found = []
    numbers = [p.number for p in state.sheet.pump]
    for entry in load("limiting")["cause"]:
        if entry.get("each") == "pump":
            for n in numbers:
                other = next((m for m in numbers if m != n), n)
                found.append(_cause(entry, n=str(n), other=str(other)))
        elif entry.get("each") == "function":
            found += [_cause(entry, n=f.name) for f in state.sheet.function]
        else:
            found.append(_cause(entry))
    return found


def _cause(entry: Mapping[str, Any], **names: str) -> _Cause:
    def words(key: str) -> tuple[str, ...]:
        return tuple(fill(text, names) for text in entry.get(key, ()))

    own = f":{names['n']}" if "n" in names else ""
    said = dict(names)
    if entry["title"].startswith("{n}"):
        said["n"] = names["n"][0].upper() + names["n"][1:]
    return _Cause(
        key=entry["key"] + own,
        title=Saying(entry["title"], **said),
        must=words("must"),
        given=words("given"),
        doubt=words("doubt"),
        unless=words("unless"),
        against=words("against"),
        backing=words("for"),
        covers=words("covers"),
        next_check=Saying(entry["next"], **names),
    )


def _row(cause: _Cause, known: Mapping[str, Fact]) -> Row:
    def get(keys: Iterable[str]) -> list[Fact]:
        return [known.get(k, Fact(k, None, Saying("{k} is not known", k=k))) for k in keys]

    must, given, unless = get(cause.must), get(cause.given), get(cause.unless)
    backing = get(cause.backing)
    out = [f for f in must if f.holds is False]
    out += [f for f in (*unless, *get(cause.against)) if f.holds]
    missing = [f for f in (*must, *given, *unless) if f.holds is None]
    in_doubt = [f for f in get(cause.doubt) if f.holds] + [f for f in given if f.holds is False]
    standing = Standing.SHOWN
    if out:
        standing = Standing.RULED_OUT
    elif missing or in_doubt:
        standing = Standing.OPEN
    speaks = [f for f in (*must, *backing) if f.holds] if any(f.holds for f in must) else []
    contrary = [*out, *in_doubt, *(f for f in backing if f.holds is False)]
    return Row(
        key=cause.key,
        title=cause.title,
        standing=standing,
        evidence_for=_said(speaks),
        evidence_against=_said(contrary),
        missing=_said(missing),
        next_check=cause.next_check,
    )


def _said(found: Sequence[Fact]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(f.words for f in found))


def _cover(causes: Sequence[_Cause], rows: dict[str, Row]) -> None:
    """Put what may come of a shown cause below it."""
    for cause in causes:
        if rows[cause.key].standing is not Standing.SHOWN:
            continue
        for key, row in rows.items():
            if key == cause.key or row.standing is not Standing.SHOWN:
                continue
            if _covered(cause.covers, key):
                rows[key] = replace(row, standing=Standing.COVERED)


def _covered(covers: Iterable[str], key: str) -> bool:
    return any(c in {"*", key} or key.startswith(f"{c}:") for c in covers)


def _head(rows: Iterable[Row], state: JobState) -> Row:
    """The first row where no cause is shown."""
    amiss = [r for r in rows if r.standing is Standing.OPEN and r.evidence_for]
    evidence = [e for r in amiss for e in r.evidence_for]
    missing = tuple(dict.fromkeys(m for r in amiss for m in r.missing))
    is_out = False
    for check in state.sheet.check:
        reading = state.latest(check.key)
        verdict = verdict_of(state, check, reading) if reading else None
        if verdict is not None and verdict.outcome is Outcome.FAIL:
            evidence.append(Saying("{title} is out of its band", title=check.title))
            is_out = True
        elif verdict is not None and verdict.outcome is Outcome.CANNOT_TELL:
            evidence.append(Saying("{title}: {reason}", title=check.title, reason=verdict.reason))
    if evidence:
        may_be = Saying("Cannot tell yet; it may be: {list}", list=joined(r.title for r in amiss))
        plain = (
            "Cannot tell, no rule explains it"
            if is_out
            else "Cannot tell: a reading does not tell pass from fail"
        )
        return Row(
            key=CANNOT_TELL,
            title=may_be if amiss else plain,
            standing=Standing.CANNOT_TELL,
            evidence_for=tuple(dict.fromkeys(evidence)),
            evidence_against=(),
            missing=missing,
            next_check=Saying("Still to be known: {list}.", list=joined(missing))
            if missing
            else _GO_ON,
        )
    if not state.readings:
        return _plain(CANNOT_TELL, "Cannot tell: nothing was read yet", Standing.CANNOT_TELL)
    return _plain(NOTHING, "Nothing that was read is out of its band", Standing.NOTHING)


def _plain(key: str, title: str, standing: Standing) -> Row:
    return Row(key, title, standing, (), (), (), _GO_ON)
