"""Marks edited so that every step can be undone and done again. No Qt.

Not Qt's undo stack: on Python 3.13 with PySide6 6.11 the garbage collector crashes on a stack whose
commands lead back to it.
"""

from __future__ import annotations

from collections.abc import Callable

from gaugebench.desk.review.markbook import Marks


class MarkEdits:
    """The marks of the open trace and what was done to them."""

    def __init__(self, show: Callable[[Marks], None]) -> None:
        self._show = show
        self._states: list[Marks] = [()]
        """The marks after each step, those that were undone too; the first before any."""
        self._at = 0
        self._kept_at: int | None = 0

    @property
    def marks(self) -> Marks:
        """As they stand."""
        return self._states[self._at]

    @property
    def are_kept(self) -> bool:
        """Whether the marks stand as they were last kept."""
        return self._at == self._kept_at

    def show_with(self, show: Callable[[Marks], None]) -> None:
        """Let another show the marks from now on; every step can still be undone."""
        self._show = show
        show(self.marks)

    def open(self, marks: Marks) -> None:
        """Another trace, or figures taken anew: nothing to undo."""
        self._states, self._kept_at = [marks], 0
        self._go(0)

    def do(self, after: Marks) -> None:
        """One step."""
        if after == self.marks:
            return
        if self._kept_at is not None and self._kept_at > self._at:
            self._kept_at = None  # what was kept cannot be come to again
        self._states[self._at + 1 :] = [after]
        self._go(self._at + 1)

    def undo(self) -> None:
        """Undo the last step, where there is one."""
        if self._at > 0:
            self._go(self._at - 1)

    def redo(self) -> None:
        """Do again what was undone last, where something was."""
        if self._at + 1 < len(self._states):
            self._go(self._at + 1)

    def keep(self) -> None:
        """The marks were kept as they stand."""
        self._kept_at = self._at

    def _go(self, to: int) -> None:
        self._at = to
        self._show(self.marks)
