"""What the levers' answers say together: which hoses are swapped, or that none is. No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from gaugebench.desk.hookup.levers import Answer
from gaugebench.desk.shown import Shown
from gaugebench.desk.words import tr
from gaugebench.model.role import Role
from gaugebench.quantity import Dimension


class Finding(StrEnum):
    """What is known of the hoses."""

    MORE = "more levers are needed"
    SOUND = "each in its place"
    PAIRED = "each control belongs to its main"
    MAINS = "mains swapped"
    CONTROLS = "controls swapped"
    BOTH = "both pairs swapped"
    CROSSED = "mains or controls swapped"
    MIXED = "the answers do not agree"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What was found, in words. swaps: pairs of roles to exchange in the kit, to put it right."""

    finding: Finding
    words: str
    swaps: tuple[tuple[Role, Role], ...] = ()


def in_words(answer: Answer, shown: Shown) -> str:
    """One lever's answer."""
    said = {
        "lever": answer.lever.name,
        "rise": shown.text(answer.rise_pa, Dimension.PRESSURE),
        "main": answer.main or 0,
        "control": answer.control or 0,
    }
    if answer.both:
        return tr(
            "{lever}: both pumps answered. Take a function that one pump feeds alone, and move it"
            " less.",
            **said,
        )
    if answer.main is None and answer.control is None:
        return tr(
            "{lever}: nothing answered. Move it further, or look whether the lever is locked.",
            **said,
        )
    if answer.main is None:
        return tr("{lever}: the control of pump {control} moved, but no main rose.", **said)
    main = tr("{lever}: pump {main} rose by {rise}", **said)
    if answer.control is None:
        return tr("{main}; no control moved.", main=main)
    if answer.control_pa < 0:
        return tr("{main}, the control of pump {control} fell.", main=main, control=answer.control)
    return tr("{main}, the control of pump {control} rose.", main=main, control=answer.control)


def conclude(answers: Sequence[Answer], *, has_controls: bool) -> Outcome:
    """What the answers say together; the newest of one lever stands. Two pumps are told apart.

    has_controls: whether the kit has control pressures at all.
    """
    newest = {a.lever.name: a for a in answers if a.main is not None and not a.both}
    good = [a for a in newest.values() if a.control is not None or not has_controls]
    if len({a.main for a in good}) < 2:
        return Outcome(
            Finding.MORE,
            tr("Go on with a lever of the other pump.")
            if good
            else tr("Move one lever that one pump feeds alone, a third of its way."),
        )
    crossed = {a.control != a.main for a in good} if has_controls else {False}
    is_numbered = all(a.lever.pump is not None for a in good)
    turned = {a.main != a.lever.pump for a in good} if is_numbered else set()
    if len(crossed) > 1 or len(turned) > 1:
        return Outcome(
            Finding.MIXED,
            tr(
                "The answers do not agree: repeat each lever, one at a time, and look at the sheet."
            ),
        )
    return _agreed(good, is_crossed=crossed == {True}, turned=turned, has_controls=has_controls)


def _agreed(
    good: Sequence[Answer], *, is_crossed: bool, turned: set[bool], has_controls: bool
) -> Outcome:
    first, second = sorted({a.main for a in good if a.main is not None})[:2]
    mains = (Role.main(first), Role.main(second))
    controls = (Role.control(first), Role.control(second))
    if not turned:
        if is_crossed:
            return Outcome(
                Finding.CROSSED,
                tr("The mains or the controls of the two pumps are swapped: each control moves with"
                   " the other pump's main. The machine's sheet says which lever each pump"
                   " feeds."),
            )  # fmt: skip
        return Outcome(
            Finding.PAIRED,
            tr("Each control belongs to its main. Which pump is number 1 only the machine's sheet"
               " can say: state what feeds the lever."),
        ) if has_controls else Outcome(
            Finding.PAIRED,
            tr("Each lever moves one main. Which pump is number 1 only the machine's sheet can"
               " say."),
        )  # fmt: skip
    if turned == {False}:
        if not is_crossed:
            return Outcome(Finding.SOUND, tr("Every hose sits where the kit says."))
        words = tr("The control hoses of the two pumps are swapped.")
        return Outcome(Finding.CONTROLS, words, (controls,))
    if is_crossed:
        return Outcome(Finding.MAINS, tr("The main hoses of the two pumps are swapped."), (mains,))
    if not has_controls:
        words = tr("The main hoses of the two pumps are swapped, or the sheet counts the pumps the"
                   " other way round.")  # fmt: skip
        return Outcome(Finding.MAINS, words, (mains,))
    words = tr("Mains and controls are both swapped, or the sheet counts the pumps the other way"
               " round.")  # fmt: skip
    return Outcome(Finding.BOTH, words, (mains, controls))
