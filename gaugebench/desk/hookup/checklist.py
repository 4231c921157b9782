"""Steps done one after the other. No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gaugebench.procedure.rules import Step


@dataclass(slots=True)
class Checklist:
    """Steps in their order; `done` of them are done."""

    steps: tuple[Step, ...]
    done: int = 0

    @staticmethod
    def of(steps: Sequence[Step]) -> Checklist:
        """None of them done."""
        return Checklist(tuple(steps))

    @property
    def current(self) -> Step | None:
        """The next to be done; None once all are."""
        return self.steps[self.done] if self.done < len(self.steps) else None

    @property
    def is_done(self) -> bool:
        """Whether all are done."""
        return self.done >= len(self.steps)

    def tick(self) -> Step | None:
        """The current one is done; which it was."""
        step = self.current
        self.done += step is not None
        return step

    def back(self) -> None:
        """Take the last tick back."""
        self.done = max(0, self.done - 1)

    def restart(self) -> None:
        """None of them done any more."""
        self.done = 0
