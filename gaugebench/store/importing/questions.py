"""What a file does not say and nobody may guess."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from dataclasses import dataclass

from gaugebench.errors import ImportChoiceNeeded


@dataclass(frozen=True, slots=True)
class Question:
    """One thing to be decided.

    field: of the recipe that answers it. flag: the same on the command line, with an example.
    text: what cannot be told, one clause. readings: what each answer would make of the file,
    answer first. column: its heading where the question is about one column alone.
    """

    field: str
    flag: str
    text: str
    readings: tuple[tuple[str, str], ...] = ()
    column: str = ""


def flag(name: str, value: str) -> str:
    """A flag of the command line as it is typed."""
    return f"--{name} {shlex.quote(value)}"


class Undecided(ImportChoiceNeeded):
    """Raised with everything that must be decided, so that it is asked once."""

    def __init__(self, name: str, questions: Sequence[Question]) -> None:
        self.questions = tuple(questions)
        parts = [
            q.text
            + (" (" + " or ".join(f"{a}: {r}" for a, r in q.readings) + ")" if q.readings else "")
            for q in questions
        ]
        flags = " ".join(dict.fromkeys(q.flag for q in questions))
        super().__init__(
            f"{name} can be read in more than one way: {'; '.join(parts)}; say {flags}."
        )
