"""A function timed with merge or regeneration on and off: what each is worth, and whether it works.

Merge: a second pump's oil joins. Regeneration: the cylinder takes back its own oil. Which of the
two is said of each repeat (`CycleTimed.merged`, `.regenerated`); None is as the machine does it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from gaugebench.model.figures import Answer, Figure
from gaugebench.model.job import CycleTimed, Phase, Value
from gaugebench.model.saying import Saying, fixed
from gaugebench.model.sheet import Check
from gaugebench.procedure.cycles import flow, mean_of
from gaugebench.procedure.rules import label
from gaugebench.procedure.state import JobState
from gaugebench.procedure.words import number

_NAMES = {
    "merged": ("merge", "the merge spool, its pilot signal, or the second pump"),
    "regenerated": ("regeneration", "the regeneration valve or its signal"),
}
"""What is compared: its name, and what to look at where it makes no difference."""


@dataclass(frozen=True, slots=True)
class Compared:
    """One function with something on and with it off, all else alike.

    gain: the share of the time without it that it saves; expanded: its k = 2 interval, None where
    an uncertainty is not known; flow_off: mean flow without it, m³/s, or why it cannot be told.
    """

    check: str
    what: str
    on: Value
    off: Value
    gain: float
    expanded: float | None
    flow_off: Answer
    words: str


def compared(state: JobState, phase: Phase) -> tuple[Compared, ...]:
    """Every function of the sheet that was timed both ways in a phase."""
    found = (_compare(state, check, what, phase) for check in state.sheet.check for what in _NAMES)
    return tuple(c for c in found if c is not None)


def way(run: CycleTimed) -> tuple[str, ...]:
    """What was switched on purpose for a repeat, in words; empty as the machine does it."""
    states = {"merge": run.merged, "regeneration": run.regenerated}
    return tuple(
        Saying("{what} on" if on else "{what} off", what=what)
        for what, on in states.items()
        if on is not None
    )


def _is_on(state: JobState, check: Check, what: str, run: CycleTimed) -> bool:
    """Whether it was on in a repeat: as stated, else as the sheet says of the function."""
    stated: bool | None = getattr(run, what)
    if stated is not None:
        return stated
    function = state.sheet.find_function(check.function)
    if function is None:
        return False
    return function.merged if what == "merged" else function.regeneration


def _compare(state: JobState, check: Check, what: str, phase: Phase) -> Compared | None:
    other = next(name for name in _NAMES if name != what)
    runs = [c for c in state.cycles if c.check == check.key and c.phase is phase]
    # Only repeats in which the other of the two stood alike are compared.
    for alike in (False, True):
        kept = [r for r in runs if _is_on(state, check, other, r) is alike]
        on = [r for r in kept if _is_on(state, check, what, r)]
        off = [r for r in kept if r not in on]
        if on and off:
            return _told(state, check, what, on, off)
    return None


def _told(
    state: JobState, check: Check, what: str, on: list[CycleTimed], off: list[CycleTimed]
) -> Compared:
    name, look = _NAMES[what]
    a, b = mean_of(on), mean_of(off)
    gain = 1 - a.value / b.value
    doubt = None
    if a.expanded is not None and b.expanded is not None:
        doubt = a.value / b.value * math.hypot(a.expanded / a.value, b.expanded / b.value)
    parts = {
        "title": check.title,
        "what": name,
        "on": number(a, "s", 2),
        "off": number(b, "s", 2),
        "gain": fixed(100 * gain),
    }
    if doubt is None:
        words: str = Saying(
            "{title}: {on} with {what}, {off} without; what {what} saves is not judged, since an "
            "uncertainty is not known.",
            **parts,
        )
    elif gain <= doubt:
        words = Saying(
            "{title}: {on} with {what}, {off} without: no gain beyond the uncertainty; look at "
            "{look} ({label}).",
            **parts,
            look=look,
            label=label(),
        )
    else:
        words = Saying(
            "{title}: {on} with {what}, {off} without: {what} saves {gain} % ± {doubt} % of the "
            "time.",
            **parts,
            doubt=fixed(100 * doubt),
        )
    first = off[0]
    merged, back = (False, first.regenerated) if what == "merged" else (first.merged, False)
    flow_off = flow(state, check, Figure(b.value, "s", b.expanded), merged, back)
    return Compared(check.key, what, a, b, gain, doubt, flow_off, words)
