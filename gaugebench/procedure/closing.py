"""What keeps a job from being closed, and the list of what puts everything back."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from gaugebench.analyse.verdict import Outcome
from gaugebench.model.job import Hands, Moment, Phase
from gaugebench.model.saying import Saying, fixed
from gaugebench.procedure.judge import verdict_of
from gaugebench.procedure.state import JobState


@dataclass(frozen=True, slots=True)
class PutBack:
    """One thing that undoes something. done: it was put back already."""

    what: str
    how: str
    done: bool


def blocks(state: JobState) -> tuple[str, ...]:
    """Why the job cannot be closed, each one sentence; empty where it can."""
    return (*altered_blocks(state), *_touched(state), *_open_checks(state), *_rest(state))


def altered_blocks(state: JobState) -> list[str]:
    """What is not put back, or not read again since it was."""
    found: list[str] = [
        Saying("Not put back: {does}. Do this: {undo}.", does=a.event.does, undo=a.event.undo)
        for a in state.open_changes
    ]
    found += [
        Saying(
            "“{title}” must be read again, since this was put back: {does}.",
            title=state.check(key).title,
            does=a.event.does,
        )
        for key, a in state.read_again
    ]
    return found


def _touched(state: JobState) -> list[str]:
    """Everything that was turned, read once more after its last turn."""
    found: list[str] = []
    for name in dict.fromkeys(t.event.screw for t in state.turns):
        last = [t for t in state.turns if t.event.screw == name][-1]
        screw = state.sheet.find_screw(name)
        if screw is not None and screw.lock_nut and Moment.AFTER_LOCK_NUT not in last.reads:
            found.append(
                Saying("“{name}” was not read after its lock nut was tightened.", name=name)
            )
        if Moment.AFTER_LOAD not in last.reads:
            found.append(Saying("“{name}” was not read after one load cycle.", name=name))
        checks = [c for c in state.sheet.check if name in c.screws]
        found += [
            Saying("“{title}” must be read once more: its screw was turned.", title=c.title)
            for c in checks
            if not state.read_since(c.key, last.place) and c.key not in state.not_tested
        ]
    return found


def _open_checks(state: JobState) -> list[str]:
    found: list[str] = []
    for check in state.sheet.check:
        latest = state.latest(check.key)
        if latest is None:
            if check.key not in state.not_tested:
                found.append(
                    Saying(
                        "“{title}” was not read; read it or say why it was not tested.",
                        title=check.title,
                    )
                )
            continue
        verdict = verdict_of(state, check, latest)
        failed = verdict is not None and verdict.outcome is Outcome.FAIL
        if failed and check.key not in state.not_adjusted:
            found.append(
                Saying(
                    "“{title}” is out of its band; adjust it or say why it stays so.",
                    title=check.title,
                )
            )
    return found


def _rest(state: JobState) -> list[str]:
    found: list[str] = []
    if state.offers:
        found.append(
            Saying(
                "{count} reading(s) still wait in the queue; accept or drop them.",
                count=len(state.offers),
            )
        )
    if state.locked is None:
        found.append("As-found is not locked.")
    if state.hands is not Hands.IN:
        found.append("The machine still stands under load; switch to hands in.")
    if not any(s.phase is Phase.AS_LEFT and s.capacity == "technician" for s in state.signatures):
        found.append("The technician has not signed as-left.")
    return found


def put_back(state: JobState) -> tuple[PutBack, ...]:
    """What would undo everything that was done, last first."""
    rows: list[tuple[int, PutBack]] = [
        (a.made, PutBack(a.event.does, a.event.undo, a.restored is not None)) for a in state.altered
    ]
    for name in dict.fromkeys(t.event.screw for t in state.turns):
        own = [t for t in state.turns if t.event.screw == name]
        net = sum(t.event.turns for t in own)
        back = (
            Saying("turn {turns_text}", turns_text=turns_text(-net))
            if abs(net) > 1e-6
            else "nothing: it stands where it stood"
        )
        row = PutBack(
            Saying("{name}: turned {turns_text} in all", name=name, turns_text=turns_text(net)),
            back,
            done=abs(net) <= 1e-6,
        )
        rows.append((own[-1].place, row))
    return tuple(row for _, row in sorted(rows, key=lambda r: -r[0]))


_FRACTIONS = (1, 2, 3, 4, 6, 8, 12, 16, 24)
"""The parts of a turn that are spoken of at a screw."""


def turns_text(turns: float) -> str:
    """A turn as it is said at the screw: `in by 1/8 turn (45°)`, or `in by 155° (0.43 turn)`."""
    if abs(turns) < 1e-6:
        return "by nothing"
    size = abs(turns)
    way = "in" if turns > 0 else "out"
    for parts in _FRACTIONS:
        if abs(size * parts - round(size * parts)) < 1e-3 * parts:
            whole, rest = divmod(Fraction(round(size * parts), parts), 1)
            words = " ".join(str(n) for n in (whole, rest) if n)
            return Saying(
                "{way} by {words} turn ({size}°)", way=way, words=words, size=fixed(size * 360)
            )
    return Saying(
        "{way} by {size}° ({size2} turn)", way=way, size=fixed(size * 360), size2=fixed(size, 2)
    )
